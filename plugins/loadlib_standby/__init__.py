"""Standby source: will it carry the house, in which order, for how long.

A consumer of the load profile document and of nothing else. Where to look:

====================  =====================================================================
``source_file``       the source file (TOML); ``case_file`` the outage case
``check``             the verdict; ``overload`` expected overloads and what causes them
``restore``           order, waits, what stays off; ``sequence`` is the optimiser
``rotation``          turns by the clock; ``swap`` what goes off for what, one at a time
``doubt``             starts that may never succeed; ``circuits`` breakers and legs beside
``endurance``         fuel, refills and battery over the hours of the case
``choose``            ratings against overloads; ``live`` at the panel; ``card`` the page;
                      ``hands`` what comes before, after a trip, and on the way back
``example``           source and case files to start from
====================  =====================================================================

Which function answers which question, with no house at all; the numbers of each stand in its
docstring, and ``tests/worked/test_standby_questions.py`` asks some ninety of them:

=====================================================  ====================================
question                                               function
=====================================================  ====================================
amps of so many watts, or VA, at these volts           ``legs.current_a``
VA of a reading; 240 V load read on one leg            ``legs.apparent_va``, ``line_to_line_va``
watts of one leg to both; power factor; VA to W        ``legs.one_leg_to_both_w``, ``power_factor``,
                                                       ``real_w``, ``va_of``
loads added up leg by leg, and the neutral             ``legs.leg_sums``, ``loadlib.neutral_a``
how full each leg of a source is                       ``legs.leg_use``, ``leg_power_w``
a circuit moved to the other leg                       ``legs.after_move_a``, ``imbalance_share``
both halves on one 120 V source; a lost neutral        ``loadlib.bridged_neutral_a``,
                                                       ``loadlib.open_neutral_v``
what a breaker, inlet or service carries; 80 %         ``legs.capacity_va``, ``continuous_a``
running total, peak, all starts at once                ``legs.sums``
in which order to switch on, and the peaks             ``legs.order_by_excess``, ``peaks_in_order``
margin, or no more than 80 % of a rating               ``legs.with_margin_w``, ``rating_w``
splitter or turns through a clamp; its accuracy        ``meter.conductor_a``, ``instrument_band``
meter display before and after a breaker               ``meter.dropped_w``
flashes or disc turns of a utility meter               ``meter.pulse_w``
can it start; largest motor that starts                ``motors.can_start``,
                                                       ``largest_startable_va``
start from LRA, from a code letter, from a table       ``motors.start_va``, ``code_letter``,
                                                       ``table_locked_rotor_a``
current of a start; sag; dip of the source             ``motors.locked_rotor_a``,
                                                       ``sagged_start_va``, ``voltage_dip_share``
horsepower to shaft watts and to input                 ``motors.shaft_w``, ``input_w``
every link from source to panel, the smallest          ``chain.chain_of``, ``smallest``
voltage lost on a cord; how far; which gauge           ``chain.cord_drop``, ``wire.voltage_drop``,
                                                       ``longest_run_ft``, ``smallest_for_drop``
ampacity of cords and wires; generator conductors      ``wire.cord_ampacity_a``,
                                                       ``wire_ampacity_a``,
                                                       ``generator_conductor_a``
altitude, heat, gas in place of petrol                 ``derate.remaining_share``, ``slope_share``,
                                                       ``derated_w``
hours on a tank, burn from a printed run time          ``fuel.run_time_h``, ``rate_from_run_time``
burn at any load from two points                       ``fuel.FuelLine``
running in blocks, days, cans                          ``fuel.fuel_for_blocks``, ``days_of_fuel``,
                                                       ``cans``
heat content, pounds to gallons, efficiency, price     ``fuel.heat_btu``, ``volume_of_mass_gal``,
                                                       ``set_efficiency``, ``fuel_rate_per_h``,
                                                       ``cost_per_kwh``
battery: size, hours, charge, Ah and kWh               ``battery.size_kwh``, ``autonomy_h``,
                                                       ``recharge_h``, ``capacity_kwh``,
                                                       ``amp_hours``, ``charging_share``
cooling capacity and EER; heaters on other volts       ``energy.cooling_w``,
                                                       ``heater_on_other_voltage_w``
input behind an output (microwave oven, inverter)      ``energy.drawn_w``
logged kWh to mean watts, a day, a year; its price     ``energy.mean_w``, ``per_day_kwh``,
                                                       ``per_year_kwh``, ``cost``
share of time on, length of a run                      ``energy.cycle_duty``, ``mean_on_s``
hot water                                              ``energy.water_heating_kwh``
how long everything stays on after an outage           ``loadlib.catch_up_s``
the same for hot water drawn, and for a sump pit       ``loadlib.energy_deficit_s``,
                                                       ``loadlib.inflow_deficit_s``;
                                                       ``deficit.deficits``
how often loads meet, and overload                     ``loadlib.crossings``, ``distribution``,
                                                       ``overload.none_by_chance``
service demand, car charger, cooking, 230 V rules      ``loadlib_service``
=====================================================  ====================================
"""
