"""The words of rating labels: units, names of quantities, qualifiers, parts, modes.

A phrase maps to an `Atom`. The tables are the vocabulary of the trade and of the plate
standards (common practice, no source); longer phrases win over shorter ones.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

__all__ = ["STANDARD_AMPS", "Atom", "find_phrase"]


@dataclass(frozen=True, slots=True)
class Atom:
    """One meaningful word or phrase.

    ``kind``: unit (gives a dimension and a factor), name (a named quantity with a
    dimension), mark (a qualifier), part, mode, appliance, source, wiring, ident (the next
    number is an identifier).
    """

    kind: str
    key: str
    dim: str = ""
    factor: float = 1.0


STANDARD_AMPS = frozenset(
    {15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200}
)
"""Standard ratings of fuses and breakers from 15 A up (NEC 240.6(A), from memory). [A]"""

_COUNTABLE = frozenset({"part", "appliance", "source", "wiring"})

# phrase | phrase ... : dimension factor
_UNITS = """
V | VOLT | VOLTS | VOLTAGE | VAC | VOLTS AC | VOLT AC | V AC | RATED VOLTAGE | VLT : V 1
KV : V 1000
A | AMP | AMPS | AMPERE | AMPERES | CURRENT | AMPERAGE | AAC | RATED CURRENT : A 1
MILLIA | MA | MILLIAMPS | MILLIAMP : A 0.001
W | WATT | WATTS | WATTAGE | WTS : W 1
KW | KILOWATT | KILOWATTS : W 1000
MW | MEGAWATT | MEGAWATTS : W 1000000
MILLIW | MILLIWATT | MILLIWATTS : W 0.001
VA | VOLT AMPS | VOLT AMP | VOLT AMPERES | VOLT AMPERE | VOLTAMPERES | VOLTAMPS : VA 1
KVA : VA 1000
HP | HORSEPOWER | HORSE POWER | BHP : HP 1
HZ | HERTZ | CY | CYC | CYCLE | CYCLES | CPS | FREQUENCY | FREQ | RATED FREQUENCY : HZ 1
PH | PHASE | PHASES | PHS | @PHI : PH 1
BTU | BTUS | BTUH | BTU / H | BTU / HR | BTU / HOUR | BTU PER HOUR | BTU PER HR | BTU H : BTU 1
MBH | KBTU | KBTUH | KBTU / H | MBTUH : BTU 1000
KCAL | KCAL / H | KCAL / HR | KCAL / HOUR | KCAL PER HOUR | KCAL H | FG / H : BTU 3.968320719
TON | TONS | TR | TONS OF REFRIGERATION | TON COOLING | TONS COOLING : BTU 12000
KWH | KW HR | KW HRS | KWHR | KWHRS | KWHS | KW H | KILOWATT HOUR | KILOWATT HOURS : KWH 1
WH | WATT HOURS | WATT HOUR : KWH 0.001
RPM | R / MIN | REV / MIN | SPEED | MIN 1 : RPM 1
@PCT | PERCENT : PCT 1
SQ FT | SQFT | SQ FEET | SQUARE FEET | SQUARE FOOT | FT SQ : SQFT 1
SQ M | SQM | SQUARE METERS | SQUARE METRES | SQUARE METER | SQUARE METRE : SQM 1
FT | FEET | FOOT : FT 1
W / SQ FT | W / SQFT | WATTS / SQ FT | WATTS PER SQ FT | WATTS PER SQUARE FOOT : W_SQFT 1
W PER SQ FT | WATT PER SQUARE FOOT | W PER SQFT | WATTS PER SQFT | WATTS / SQFT : W_SQFT 1
W / SQ M | W / SQM | WATTS PER SQUARE METER | WATTS PER SQUARE METRE | W PER SQ M : W_SQM 1
W / FT | WATTS PER FOOT | W PER FOOT | WATTS / FT | W PER FT | WATTS / FOOT : W_FT 1
W / M | WATTS PER METER | WATTS PER METRE | W PER M | W PER METRE | W PER METER : W_M 1
M | METER | METERS | METRE | METRES : M 1
W / H | W / HR | WATTS / HOUR | WATTS / HR | WATTS PER HOUR | WATT PER HOUR : W_SLIP 1
WATTS AN HOUR | W PER HOUR | WATTS PER HR | WATTS HOURLY | WATTS EVERY HOUR : W_SLIP 1
KW / H | KW / HR | KW / HOUR | KW PER HOUR | KILOWATTS PER HOUR | KW PER HR : W_SLIP 1000
KILOWATT PER HOUR | KILOWATTS AN HOUR | KILOWATTS / HOUR | KW AN HOUR : W_SLIP 1000
GAL | GALLON | GALLONS | L | LITER | LITERS | LITRE | LITRES | CU FT | CUFT | QT | CUPS : X 1
PSI | BAR | KPA | MPA | GPM | GPH | GPD | CFM | LPM | LB | LBS | OZ | KG | G | KGS : X 1
IN | INCH | INCHES | MM | CM | DB | DBA | UF | MFD | HR | HRS | H | HOUR | HOURS : X 1
SEC | SECS | SECONDS | S | MINS | MINUTES | MINUTE | STAR | STARS | POLE | POLES | P : X 1
LM | LUMEN | LUMENS | MHZ | GHZ | KHZ | C | F | DEG C | DEG F | @DEGC | @DEGF | YEARS : X 1
LINE | PLACE | PLACES | SETTINGS | SPEEDS | PINT | PINTS | CUP | SLICE | BURNERS | CHANNEL : X 1
AH | MAH | AMP HOURS | AMP HOUR | AMPHOURS | VOC | ISC | MILLIAH : SOURCE 1
WIRE | WIRES : WIRES 1
AWG | GAUGE | GA : AWG 1
VDC | VOLTS DC | VOLT DC | V DC | @DCV : VDC 1
ADC | A DC : ADC 1
"""

# phrase | phrase ... : kind key [dim]
_OTHERS = """
RLA | RATED LOAD AMPS | RATED LOAD CURRENT | RATED LOAD AMPERES | RATED LOAD : name rla A
RATED LOAD AMP | RUN LOAD AMPS | RUNNING LOAD AMPS : name rla A
LRA | LOCKED ROTOR AMPS | LOCKED ROTOR CURRENT | LOCKED ROTOR AMPERES : name lra A
LOCKED ROTOR | LOCK ROTOR AMPS | LRC | LR AMPS | L R AMPS | LOCKED ROTOR AMP : name lra A
FLA | FLC | FULL LOAD AMPS | FULL LOAD CURRENT | FULL LOAD AMPERES : name fla A
FULL LOAD AMP | F L AMPS | FL AMPS | F / L AMPS | FULL LOAD : name fla A
SFA | SERVICE FACTOR AMPS | SERVICE FACTOR CURRENT | SF AMPS | SF A : name sfa A
SERVICE FACTOR AMPERES | MAX SF AMPS | SERVICE FACTOR LOAD AMPS : name sfa A
MCA | AMPACITY | MIN CIRCUIT AMPS | MIN CKT AMPS | MINIMUM CIRCUIT AMPS : name mca A
MINIMUM CIRCUIT CURRENT | MIN CIRCUIT CURRENT | MIN CKT CURRENT : name mca A
MOCP | MOP | OCPD | MFS | MFA | FUSE | FUSES | BREAKER | BREAKERS : name mocp A
HACR | HACR TYPE | TYPE HACR | HACR TYPE BREAKER | HACR TYPE CIRCUIT BREAKER : name mocp A
OVERCURRENT | OVER CURRENT | BRKR | BKR | BKRS | CB | GFCI | RCBO | MCB | BRK : name mocp A
CIRCUIT BREAKER | CKT BKR | CKT BRKR | CIRCUIT BKR | OVERCURRENT PROTECTION : name mocp A
OVERCURRENT PROTECTIVE DEVICE | CIRCUIT PROTECTION | MAX OCP | OCP | FUSED : name mocp A
EER | ENERGY EFFICIENCY RATIO : name eer RATIO
PF | POWER FACTOR | P F | COS @PHI | COS@PHI | COS PHI | COS FI | COSPHI : name pf RATIO
COSFI | COS : name pf RATIO
SF | SERVICE FACTOR : name sf RATIO
EFF | EFFICIENCY | @ETA | NOM EFF | EFFICACY : name eff RATIO
SEER | HSPF | CEER | IEER | UEF | AFUE | COP | SCOP | IPLV | ENERGY FACTOR : name season RATIO
SEASONAL ENERGY EFFICIENCY RATIO : name season RATIO
COMBINED ENERGY EFFICIENCY RATIO : name season RATIO
THP : name total_hp HP
QTY | QUANTITY | NO OF | NUMBER OF : name qty COUNT
MAX | MAXIMUM | UP TO : mark max
MIN | MINIMUM : mark min
TOTAL | TOTALS | TOTALING | TOTALLING | ALTOGETHER | CONNECTED LOAD | COMBINED : mark total
INPUT | POWER INPUT | CONSUMPTION | POWER CONSUMPTION | RATED INPUT | INPUT POWER : mark input
CONSUMES | CONSUMED | ABSORBED POWER | ENTRADA | POWER CONSUMED | ABSORBED : mark input
OUTPUT | COOKING POWER | DELIVERS | RATED OUTPUT | OUT | OUTPUT POWER | SALIDA : mark output
SHAFT | SHAFT POWER | RATED SHAFT POWER | MECHANICAL OUTPUT | SHAFT OUTPUT : mark shaft
SURGE | SURGE POWER | SURGE WATTS : mark peak
PEAK | PEAKS | PEAKS AT | SPIKES | INRUSH | SPIKE | SURGES | PEAKING | SPIKES TO : mark peak
MOMENTARY | DEVELOPED | SURGES TO : mark peak
EQUIVALENT | EQUIV | EQ | REPLACEMENT | EQUIVALENCE : mark equiv
REPLACES | REPLACE | EQUAL TO | AS BRIGHT AS | INSTEAD OF | EQUALS : mark replaces
LESS THAN | UNDER | BELOW | NO MORE THAN | NOT MORE THAN | AT MOST | FEWER THAN : mark bound
MORE THAN | OVER | AT LEAST | ABOVE | LESS | EXCEED | EXCEEDING : mark bound
EACH | EA | APIECE | PER LAMP | PER BULB | PER TUBE | PER ELEMENT : mark each
START | STARTING | AT START | START UP | STARTUP | ON START UP | AT STARTUP : mark start
STARTS | STARTS AT | AT START UP | TO START : mark start
RATED | RATED AT | RATING | RATED POWER | NOMINAL : mark rated
CIRCUIT | CKT | CIRCUITS | DEDICATED : mark circuit
CONDUCTOR | CONDUCTORS | SUPPLY CIRCUIT | SUPPLY WIRE | WIRING : mark conductor
CAPACITY | NET CAPACITY | COOLING CAPACITY | HEATING CAPACITY : mark capacity
AC | ALTERNATING CURRENT : mark ac
DC | DIRECT CURRENT : mark dc
SIMULTANEOUS : mark simultaneous
NON SIMULTANEOUS | NONSIMULTANEOUS | NOT SIMULTANEOUS | INTERLOCKED : mark nonsimultaneous
NOT AT THE SAME TIME | NOT BOTH AT ONCE | NEVER BOTH ON | NOT TOGETHER : mark nonsimultaneous
SOFT START | SOFT STARTER | SOFTSTART | SOFTSTARTER | SOFT STARTED | WITH SOFT START : mark option
WITH SOFT STARTER | HARD START KIT | WITH HARD START KIT | OPTIONAL | OPTION : mark option
WITHOUT SOFT START | WITHOUT SOFT STARTER | WITHOUT : mark without
USB | USB C | USB A | USB PORT | USB PORTS | TYPE C : mark usb
CHARGING | CHARGE : mode charging
PER YEAR | / YEAR | / YR | / ANNUM | PER ANNUM | PER YR | A YEAR | ANNUALLY : period year
YEARLY | ANNUAL | EACH YEAR | EVERY YEAR | AEC | YEAR | YR | P / A : period year
PER DAY | / DAY | A DAY | DAILY | EACH DAY | EVERY DAY | / D | DAY : period day
PER MONTH | / MONTH | A MONTH | MONTHLY | EVERY MONTH | MONTH : period month
PER WEEK | / WEEK | A WEEK | WEEKLY | EVERY WEEK : period week
PERHUNDREDCYCLES : period cycles100
/ CYCLE | PER CYCLE | A CYCLE | / CYC | PER LOAD | PER WASH | / LOAD : period cycle
PERTHOUSANDHOURS : period hours1000
MODEL | MOD | MODELS | MOD NO | MODEL NO | SERIAL | SERIAL NO | S / N | SN | SER | M / N : ident id
SER NO | SERIAL NUMBER | MODEL NUMBER | PART NUMBER | BATCH | BATCH NO | LOT | LOT NO : ident id
CAT NO | PART NO | P / N | FRAME | FR | ITEM | DATE | FILE | TEMP RISE : ident id
TYPE | CAT | SERIES | CLASS | INS CL | INS CLASS | INSUL CLASS | INSULATION CLASS : ident std
AMB | AMBIENT | IP : ident std
REFRIGERANT | NO | STYLE | CONFORMS | STD | UL | CSA | LISTED : ident std
TEMP | TEMPERATURE | NEMA | DESIGN | EN | IEC | MFD DATE : ident std
HEATER | HEATERS | IMMERSION HEATER | DRYING HEATER : part heater
HEAT | ELECTRIC HEAT | STRIP HEAT | HEAT STRIP | HEAT STRIPS | AUX HEAT : part electric heat
AUXILIARY HEAT | BACKUP HEAT | HEAT KIT | HEATER KIT | STRIPS | EMERGENCY HEAT : part electric heat
SUPPLEMENTAL HEAT | SUPPL HEAT | ELEC HEAT | AUX HEATER | BACKUP HEATER : part electric heat
ELEMENT | ELEMENTS | HEATING ELEMENT | HEATING ELEMENTS : part element
UPPER | UPPER ELEMENT | TOP ELEMENT : part upper element
LOWER | LOWER ELEMENT | BOTTOM ELEMENT : part lower element
FAN | FANS | FAN MOTOR | OUTDOOR FAN | OUTDOOR FAN MOTOR | COND FAN | OD FAN : part fan
CONDENSER FAN | CONDENSER FAN MOTOR | COND FAN MOTOR | EVAP FAN | INDOOR FAN : part fan
INDOOR FAN MOTOR | EVAPORATOR FAN | ID FAN | FAN MTR | OUTDOOR MOTOR | CIRC FAN : part fan
BLOWER | BLOWER MOTOR | INDOOR BLOWER | BLWR | BLOWER MTR : part blower
INDUCER | INDUCER MOTOR | DRAFT INDUCER | COMBUSTION FAN : part inducer
PUMP | PUMPS | PUMP MOTOR | DRAIN PUMP | CIRCULATOR | CIRC PUMP | WASH PUMP : part pump
COMPRESSOR | COMPRESSORS | COMPR | COMP | COMP MOTOR | MOTOR COMPRESSOR : part compressor
COMPRESSOR MOTOR | CPR | CMPR | COMPS : part compressor
MOTOR | MOTORS | MTR | DRIVE MOTOR | MAIN MOTOR | DRUM MOTOR | WASH MOTOR : part motor
LIGHT | LIGHTS | LAMP | LAMPS | BULB | BULBS | TUBES | LIGHTING | HEAT LAMP : part light
OVEN | OVENS | HOB | COOKTOP | SURFACE UNITS | SURFACE | WARMING DRAWER | HOTPLATE : part oven
CRANKCASE HEATER | CCH | SUMP HEATER : part crankcase heater
TRANSFORMER | CONTROLS | ICE MAKER | ICEMAKER | TURNTABLE | CONTROL : part control
DEFROST | DEFROSTING | DEFROST HEATER | IN DEFROST : mode defrost
IGNITION | IGNITER | IGNITOR | LIGHT UP | START UP MODE : mode ignition
GRILL | GRILLE : mode grill
BROIL | BROILER | BROILING : mode broil
BAKE | BAKING : mode bake
CONVECTION : mode convection
RUN | RUNNING | RUNS | NORMAL | OPERATING | RUN MODE | STEADY | ON MODE : mode run
COOL | COOLING | COOLING MODE | COOL MODE : mode cooling
HEATING | HEAT MODE | HEATING MODE : mode heating
STANDBY | STAND BY | IDLE | SLEEP | OFF | OFF MODE | STANDBY MODE | NETWORK STANDBY : mode standby
HIGH | HI | HIGH SPEED | HIGH HEAT : mode high
LOW | LO | LOW SPEED | LOW HEAT : mode low
MED | MEDIUM : mode medium
BOOST | TURBO : mode boost
ECO | ECO MODE : mode eco
SPIN : mode spin
WASH : mode wash
DRY | DRYING : mode dry
KEEP WARM | WARM | WARMING : mode warm
FAN ONLY : mode fan only
REFRIGERATOR | FRIDGE | FRIDGE FREEZER | REFRIGERATOR FREEZER | REFRIG : appliance cold
FREEZER | CHEST FREEZER | UPRIGHT FREEZER | DEEP FREEZER | DEEP FREEZE : appliance freezer
WASHER | WASHING MACHINE | CLOTHES WASHER | LAUNDRY WASHER : appliance washer
DRYER | TUMBLE DRYER | CLOTHES DRYER | GAS DRYER : appliance dryer
WASHER DRYER : appliance washer-dryer
DISHWASHER | DISH WASHER : appliance dishwasher
MICROWAVE | MICROWAVE OVEN : appliance microwave
TV | TELEVISION : appliance tv
COMPUTER | LAPTOP | DESKTOP | PC : appliance computer
ROUTER | MODEM : appliance router
PRINTER : appliance printer
MONITOR : appliance monitor
KETTLE : appliance kettle
TOASTER | TOASTER OVEN : appliance toaster
COFFEE | COFFEE MAKER | COFFEEMAKER : appliance coffee maker
IRON | STEAM IRON : appliance iron
VACUUM | VACUUM CLEANER : appliance vacuum
AIR CONDITIONER | AIR CONDITIONING | ROOM AC | A / C | AIRCON | AIR COND : appliance air conditioner
HEAT PUMP | MINI SPLIT | MINISPLIT | HEATPUMP | SPLIT AC : appliance heat pump
FURNACE | GAS FURNACE | ELECTRIC FURNACE : appliance furnace
BOILER : appliance boiler
RANGE | STOVE | GAS RANGE | COOKER | GAS STOVE | PELLET STOVE : appliance range
DEHUMIDIFIER : appliance dehumidifier
HUMIDIFIER : appliance humidifier
WATER HEATER | WATERHEATER | HEAT PUMP WATER HEATER | GEYSER : appliance water heater
WELL PUMP | SUBMERSIBLE | SUBMERSIBLE PUMP | JET PUMP | DEEP WELL PUMP : appliance well pump
SUMP PUMP : appliance sump pump
SPACE HEATER | BABY HEATER | WALL HEATER | FAN HEATER | OIL HEATER : appliance space heater
CEILING FAN | BOX FAN | TOWER FAN | ATTIC FAN : appliance fan
GARAGE OPENER | GARAGE DOOR OPENER | DOOR OPENER : appliance door opener
HOT TUB | SPA : appliance hot tub
SEWAGE PUMP | EJECTOR | EJECTOR PUMP | POOL PUMP | BOOSTER PUMP : appliance pump
AIR COMPRESSOR : appliance air compressor
DISPOSER | DISPOSAL | GARBAGE DISPOSAL | WASTE DISPOSER : appliance disposer
RANGE HOOD | COOKER HOOD : appliance hood
WELDER : appliance welder
BATTERY CHARGER | CHARGER | CAR CHARGER | EV CHARGER | EVSE | CHARGING STATION : appliance charger
BLENDER : appliance blender
MIXER | STAND MIXER : appliance mixer
FOOD PROCESSOR : appliance food processor
AIR FRYER | FRYER : appliance fryer
RICE COOKER | SLOW COOKER | PRESSURE COOKER : appliance slow cooker
AIR PURIFIER | AIR CLEANER : appliance air purifier
ELECTRIC BLANKET : appliance blanket
SEWING MACHINE : appliance sewing machine
INCUBATOR : appliance incubator
SAUNA | SAUNA HEATER : appliance sauna
CPAP | OXYGEN CONCENTRATOR | CONCENTRATOR | NEBULIZER : appliance medical device
PRESSURE WASHER : appliance pressure washer
HAIR DRYER | HAIRDRYER | BLOW DRYER : appliance hair dryer
STEAM GENERATOR | OZONE GENERATOR | FOG GENERATOR : appliance generator-like
GENERATOR | GENSET | GEN SET | ALTERNATOR | GENERATORS : source generator
UPS | BATTERY BACKUP | UNINTERRUPTIBLE POWER SUPPLY | BATTERY BACK UP : source battery backup
POWER STATION | BATTERY PACK | LITHIUM BATTERY | LIFEPO : source battery
INVERTER | INVERTERS : source inverter
PURE SINE | SINE WAVE | MODIFIED SINE | SINEWAVE | TRUE SINE | PURE SINE WAVE : source inverter
SOLAR PANEL | SOLAR MODULE | PV MODULE | PV PANEL : source solar panel
FUSELINK : wiring fuse
RECEPTACLE | OUTLET | PLUG | SOCKET | PLUGS | RECEPTACLES | WALL PLATE : wiring plug or receptacle
CONNECTOR | COUPLER | INLET | APPLIANCE INLET | ADAPTER PLUG | TWIST LOCK : wiring connector
CORD | EXTENSION CORD | EXTENSION | POWER STRIP | CABLE | CORDSET | FLEX : wiring cord
SWITCH | RELAY | CONTACTOR | DIMMER | TIMER SWITCH : wiring switch
SJTW | SJOOW | SJT | STW : wiring cord
SURGE PROTECTOR | SURGE SUPPRESSOR | SURGE STRIP : wiring surge protector
SERVICE | MAIN BREAKER | MAIN PANEL | LOAD CENTER | PANELBOARD | MAINS PANEL : wiring service
SERVICE PANEL | MAIN SERVICE | SERVICE ENTRANCE | METER MAIN | METER SOCKET : wiring service
"""


@functools.cache
def _phrases() -> dict[str, list[tuple[tuple[str, ...], Atom]]]:
    """First word -> phrases that begin with it, the longest first."""
    table: dict[str, list[tuple[tuple[str, ...], Atom]]] = {}
    for line in _UNITS.strip().splitlines():
        names, _, value = line.rpartition(" : ")
        dim, factor = value.split()
        _put(table, names, Atom("unit", dim, dim, float(factor)))
    for line in _OTHERS.strip().splitlines():
        names, _, value = line.rpartition(" : ")
        kind, _, key = value.partition(" ")
        dim = ""
        if kind == "name":
            key, _, dim = key.rpartition(" ")
        _put(table, names, Atom(kind, key, dim))
    for entries in table.values():
        entries.sort(key=lambda entry: -len(entry[0]))
    return table


def _put(table: dict[str, list[tuple[tuple[str, ...], Atom]]], names: str, atom: Atom) -> None:
    for name in names.split(" | "):
        words = tuple(name.split())
        table.setdefault(words[0], []).append((words, atom))
        if atom.kind in _COUNTABLE and not words[-1].endswith("S"):
            plural = (*words[:-1], words[-1] + "S")
            table.setdefault(plural[0], []).append((plural, atom))


def find_phrase(words: list[str], at: int) -> tuple[Atom, int] | None:
    """The longest phrase that starts at ``words[at]``, and how many words it has."""
    for phrase, atom in _phrases().get(words[at], ()):
        if tuple(words[at : at + len(phrase)]) == phrase:
            return atom, len(phrase)
    return None
