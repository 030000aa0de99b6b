"""A walk without a terminal: lines in, words out, and everything stored as it is said."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from loadlib.core.category import Category
from loadlib.core.claims import LoadClaim
from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.ranges import Range
from loadlib.errors import InputError
from loadlib.labels import RatingLabel, explain, read_label
from loadlib.testing.samples import sample_evidence
from loadlib.walk.session import Session
from loadlib.walk.status import status

BASE = sample_evidence().categories["test_cold"]


def category(slug: str, rule: str = "amps_upper") -> Category:
    return replace(BASE, category=slug, name=slug.replace("_", " "), label_rule=rule)


class FakeDesk:
    """Keeps the house in memory; knows a handful of categories."""

    def __init__(self, house: House) -> None:
        self.states = [house]
        self.known = {
            "refrigerator": category("refrigerator"),
            "refrigerator_compact": category("refrigerator_compact"),
            "microwave_oven": category("microwave_oven", "watts_output"),
            "well_pump_submersible": category("well_pump_submersible"),
            "well_pump_submersible_two_wire": category("well_pump_submersible_two_wire"),
            "well_pump_submersible_three_wire": category("well_pump_submersible_three_wire"),
        }

    def house(self) -> House:
        return self.states[-1]

    def edit(self, change: Callable[[House], House], what: str) -> House:
        self.states.append(change(self.states[-1]))
        return self.states[-1]

    def undo(self) -> str:
        self.states.pop()
        return "the last one"

    def add(self, house: House, appliance: Appliance) -> House:
        new = replace(appliance, id=f"{appliance.name}-{len(house.appliances)}")
        return house.with_(appliances=(*house.appliances, new))

    def find(self, words: str) -> Sequence[str]:
        return [slug for slug in self.known if words.split()[0] in slug]

    def is_exact(self, words: str) -> bool:
        return words.replace(" ", "_") in self.known

    def category(self, slug: str) -> Category | None:
        return self.known.get(slug)

    def label(self, text: str) -> RatingLabel | None:
        return read_label(text) if text else None

    def check_label(self, name: str, text: str) -> None:
        if "MW" in text:
            raise InputError(f"{name}: {text!r} is no load")

    def words(self, label: RatingLabel) -> Sequence[str]:
        return explain(label)

    def claims(self, appliance: Appliance) -> Sequence[LoadClaim]:
        running = LoadClaim("x", "running_w", Range(90, 120, 180), source="test (of its own)")
        if "pump" not in appliance.category:
            return [running]
        return [running, LoadClaim("x", "start_va", Range(900, 2000, 4000), source="test")]


def walk(house: House, *lines: str) -> tuple[FakeDesk, list[str], list[str]]:
    desk, said, asked = FakeDesk(house), [], []
    answers: Iterator[str] = iter(lines)

    def ask(prompt: str) -> str | None:
        asked.append(prompt)
        return next(answers, None)

    Session(desk, said.extend, ask).run()
    return desk, said, asked


def test_an_appliance_is_stored_and_echoed_with_its_range() -> None:
    desk, said, _ = walk(House("ridge"), "kitchen: refrigerator 115V 6.5A", "stop")
    (appliance,) = desk.house().appliances
    assert (appliance.room, appliance.label) == ("kitchen", "115V 6.5A")
    assert "  Label says 6.5 A, at most 748 VA." in said
    assert "  runs at 90 to 180 W" in said
    assert "  source: test" in said


def test_a_load_across_both_legs_is_said_so_with_its_amps() -> None:
    _, said, _ = walk(House("ridge"), "well pump submersible 1HP 230V SFA 9.8 LRA 55", "stop")
    assert "  runs at 90 to 180 W, 9.8 A on both legs" in said
    _, said, _ = walk(House("ridge", "230"), "well pump submersible 230V SFA 9.8 LRA 55", "stop")
    assert "  runs at 90 to 180 W" in said


def test_a_doubtful_label_is_one_key_and_stays_open_until_answered() -> None:
    house = House("ridge")
    desk, said, asked = walk(house, "refrigerator I15V 7.6 FLA", "", "stop")
    assert "refrigerator: is it 115 V, 7.6 A full load? [y/n, Enter: later] " in asked
    assert any("has a letter for a digit" in line for line in said)
    # The next day the question is greeted with, and the word ask puts it.
    desk, said, _ = walk(desk.house(), "ask", "y", "stop")
    assert said.index("  refrigerator: is it 115 V, 7.6 A full load?") < 6
    assert desk.house().appliances[0].note == "label checked"
    assert desk.house().appliances[0].label == "I15V 7.6 FLA"
    _, said, asked = walk(desk.house(), "ask", "stop")
    assert "No question is open." in said
    assert len(asked) == 2


def test_a_label_that_was_read_wrong_is_typed_again() -> None:
    desk, said, _ = walk(House("ridge"), "refrigerator I15V 7.6 FLA", "n", "115V 1.6 FLA", "stop")
    (appliance,) = desk.house().appliances
    assert (appliance.label, appliance.note) == ("115V 1.6 FLA", "label was: I15V 7.6 FLA")
    assert "  Full load 1.6 A." in said
    desk, _, _ = walk(House("ridge"), "refrigerator I15V 7.6 FLA", "n", "", "stop")
    assert desk.house().appliances[0].label == "I15V 7.6 FLA"


def test_a_label_that_can_not_be_is_refused_and_one_that_can_not_be_read_is_kept() -> None:
    desk, said, _ = walk(House("ridge"), "refrigerator 10MW", "refrigerator 5 qqq", "stop")
    assert "refrigerator: '10MW' is no load" in said
    (appliance,) = desk.house().appliances
    assert appliance.label == "5 qqq"
    assert any("label kept as typed, not used: nothing electrical" in line for line in said)


def test_the_worst_doubt_is_one_line_with_its_mend() -> None:
    _, said, _ = walk(House("ridge"), "doubt", "stop")
    assert "Nothing is entered yet, so everything is in doubt." in said
    _, said, _ = walk(House("ridge"), "well pump submersible 1HP 230V LRA 55", "doubt", "stop")
    assert any("as sure as a label gets" in line for line in said)
    lines = ("refrigerator", "well pump submersible 1HP 230V", "", "what is my worst doubt?")
    _, said, _ = walk(House("ridge"), *lines, "stop")
    assert (
        "Worst doubt: well pump submersible starts at 900 to 4,000 VA. "
        "One key would help: type ask."
    ) in said
    _, said, _ = walk(House("ridge"), "60 refrigerator", "doubt", "stop")
    assert (
        "Worst doubt: refrigerator runs at 5,400 to 10,800 W. Its rating label would narrow it."
    ) in said


def test_the_room_is_kept_and_the_walk_can_end_at_any_time() -> None:
    desk, said, asked = walk(House("ridge"), "kitchen:", "refrigerator")
    assert desk.house().appliances[0].room == "kitchen"
    assert asked[-1] == "kitchen> "
    assert said[-1].startswith("All is stored.")


def test_a_question_is_asked_only_where_the_answer_matters() -> None:
    _, _, asked = walk(House("ridge"), "microwave oven INPUT 1500W", "stop")
    assert not any("cooking power" in prompt for prompt in asked)
    desk, _, asked = walk(House("ridge"), "microwave oven 1000W", "d", "stop")
    assert any("cooking power" in prompt for prompt in asked)
    (appliance,) = desk.house().appliances
    assert appliance.label == "OUTPUT 1000W"
    assert "label as typed: 1000W" in appliance.note


def test_two_or_three_wires_change_the_category_and_a_printed_lra_spares_the_question() -> None:
    desk, _, _ = walk(House("ridge"), "well pump submersible", "2", "stop")
    assert desk.house().appliances[0].category == "well_pump_submersible_two_wire"
    _, _, asked = walk(House("ridge"), "well pump submersible 1HP LRA 55", "stop")
    assert not any("two wires" in prompt for prompt in asked)


def test_near_names_are_offered_and_unknown_words_are_kept() -> None:
    desk, _, asked = walk(House("ridge"), "refrigerator small", "2", "moon lamp", "stop")
    assert any("1 refrigerator, 2 refrigerator compact" in prompt for prompt in asked)
    assert [a.category for a in desk.house().appliances] == ["refrigerator_compact", "moon_lamp"]


def test_faults_are_told_and_the_walk_goes_on() -> None:
    desk, said, _ = walk(House("ridge"), "115V", "refrigerator @44", "refrigerator", "undo", "stop")
    assert any("no appliance is named" in line for line in said)
    assert any("no circuit '44'" in line for line in said)
    assert "Taken back: the last one" in said
    assert desk.house().appliances == ()


def test_the_survey_asks_about_medical_devices_first_and_guesses_the_leg() -> None:
    house = House("ridge", appliances=(Appliance("c", "cpap", "cpap", medical=True),))
    desk, said, asked = walk(house, "survey", "y", "11", "cpap, ghost", "", "stop")
    first = next(i for i, line in enumerate(said) if "medical device" in line)
    assert first >= 0
    assert "Is none of these on it" in asked[1]
    (circuit,) = desk.house().circuits
    assert (circuit.name, circuit.legs, circuit.leg_guessed) == ("slot 11", "B", True)
    assert desk.house().appliances[0].circuit == "slot 11"
    assert any("switch it on again now" in line for line in said)
    assert any("'ghost'" in line for line in said)


def test_a_circuit_with_a_medical_device_is_left_on_and_one_that_must_run_kept_short() -> None:
    house = House(
        "ridge",
        circuits=(Circuit("bed", (11,), "B"), Circuit("cellar", (9,), "A")),
        appliances=(
            Appliance("c", "cpap", "cpap", medical=True, circuit="bed"),
            Appliance("s", "sump pump", "sump_pump", priority="must", circuit="cellar"),
        ),
    )
    _, said, asked = walk(house, "survey", "y", "11", "9", "", "", "stop")
    assert "Leave it on: cpap is on bed." in said
    assert "Keep it short: sump pump is on cellar." in said
    assert sum("What went dark?" in prompt for prompt in asked) == 1
    assert "Switch it on again before the next one." in said


def test_the_survey_stops_when_somebody_depends_on_it() -> None:
    desk, said, _ = walk(House("ridge"), "survey", "n", "stop")
    assert "Then leave all on, and come back when they are." in said
    assert desk.house().circuits == ()


def test_a_slot_that_is_none_is_refused_and_a_double_breaker_takes_both_legs() -> None:
    desk, said, _ = walk(House("ridge"), "survey", "y", "eleven", "2-4", "", "", "stop")
    assert any("'eleven' is no slot" in line for line in said)
    assert desk.house().circuits[0].legs == "AB"


def test_status_says_known_guessed_missing() -> None:
    house = House(
        "ridge",
        circuits=(Circuit("sump", (11,), "B", leg_guessed=True),),
        appliances=(
            Appliance("a", "fridge", "refrigerator", label="115V 6.5A", circuit="sump"),
            Appliance("b", "range", "range"),
        ),
    )
    assert status(house) == [
        "ridge: 2 appliances, 1 circuit",
        "  known, by label: fridge",
        "  guessed, by kind only: range",
        "  missing: circuit of: range",
        "  missing: leg of: sump",
    ]
