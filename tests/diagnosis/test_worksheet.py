"""The bench worksheet: limits, answers, readings, and what the engine makes of them."""

from __future__ import annotations

import pytest

from livecheck import knowledge
from livecheck.diagnosis import locate, worksheet, worksheet_machine
from livecheck.diagnosis.worksheet_table import Label
from livecheck.diagnosis.worksheet_words import BadAnswers, quantity, read_figure, read_label
from livecheck.plan import WORKSHEETS
from livecheck.records import Complaint, Location, Outcome, Reading, Run, Side

SHEET = knowledge.worksheet()
TABLES = knowledge.load()
BARREL = Label(volts=19.5, amps=3.33)


def readings(label: Label | None = BARREL, /, **answers: float | str) -> tuple[Reading, ...]:
    """``readings(adapter_open_voltage=19.5)``, checked as a file's answers would be."""
    named = {name.replace("_", "-"): value for name, value in answers.items()}
    checked = {name: worksheet.answer(name, value, SHEET) for name, value in named.items()}
    return worksheet.judge(checked, label, SHEET)


def outcome(check: str, label: Label | None = BARREL, /, **answers: float | str) -> Outcome:
    return next(r.outcome for r in readings(label, **answers) if r.check == check)


def located(complaint: Complaint, label: Label = BARREL, /, **answers: float | str) -> Location:
    run = Run(
        number=1,
        started="2024-01-01T09:00:00Z",
        complaint=complaint,
        inventory=worksheet_machine.machine(),
        readings=readings(label, **answers),
    )
    return locate("bench", [run], TABLES)


def test_worksheets_are_for_the_complaints_of_the_table() -> None:
    named = {complaint for step in SHEET.step for complaint in step.complaints}
    assert named == {complaint.value for complaint in WORKSHEETS}


@pytest.mark.parametrize("complaint", [Complaint.NO_POWER, Complaint.NO_PICTURE])
def test_a_dead_machine_has_a_worksheet(complaint: Complaint) -> None:
    names = [step.name for step in worksheet.steps(complaint, SHEET)]
    # The adapter comes first: common practice, no source.
    assert names[0].startswith("adapter-")
    assert len(names) == len(set(names))


def test_a_machine_that_boots_has_none() -> None:
    assert worksheet.steps(Complaint.SLOW, SHEET) == ()


def test_what_the_sheet_names_exists() -> None:
    components = {"machine"}
    inventory = worksheet_machine.machine()
    for group in (inventory.controllers, inventory.places, inventory.parts):
        components |= {component.id for component in group}
    for step in SHEET.step:
        assert set(step.cautions) <= set(TABLES.cautions), step.name
        assert set(step.complaints) <= {c.value for c in Complaint}, step.name
        assert (step.asks == "number") == (step.unit is not None) == (not step.choices), step.name
        for rule in step.judge:
            assert rule.check in TABLES.checks, rule.check
            assert worksheet_machine.WHERE[rule.at] in components, rule.at
            assert set(rule.passed_when) | set(rule.failed_when) <= set(step.choices), step.name
            assert rule.source


def test_steps_at_mains_or_cell_carry_their_caution() -> None:
    for step in SHEET.step:
        if step.name.startswith("adapter-"):
            assert "mains" in step.cautions
        if step.name == "starts-without-battery":
            assert "cell" in step.cautions


@pytest.mark.parametrize(
    ("label", "low", "high"),
    [
        # Barrel plug, +-5 %: a rule of thumb of forum posts.
        (Label(volts=19.0), 18.05, 19.95),
        (Label(volts=19.5), 18.525, 20.475),
        # USB Power Delivery 3.2, table 4.6, vSrcNew = nominal x 0.95 ... 1.05 (secondary copy).
        (Label(volts=9.0, supply="usb-pd"), 8.55, 9.45),
        (Label(volts=15.0, supply="usb-pd"), 14.25, 15.75),
        (Label(volts=20.0, supply="usb-pd"), 19.0, 21.0),
    ],
)
def test_band_under_load(label: Label, low: float, high: float) -> None:
    check = "bench.adapter-loaded-voltage"
    for volts in (low + 0.001, high - 0.001):
        assert outcome(check, label, adapter_loaded_voltage=volts) is Outcome.PASSED
    for volts in (low - 0.001, high + 0.001):
        assert outcome(check, label, adapter_loaded_voltage=volts) is Outcome.FAILED


def test_a_power_delivery_adapter_rests_at_5_volts() -> None:
    """vSrcNew of 5 V: 4.75 ... 5.25 V; an adapter for 20 V that shows 5 V at rest is sound."""
    label = Label(volts=20.0, amps=3.25, supply="usb-pd")
    for check in ("bench.adapter-open-voltage", "bench.adapter-output"):
        assert outcome(check, label, adapter_open_voltage=4.8) is Outcome.PASSED
    assert outcome("bench.adapter-open-voltage", label, adapter_open_voltage=4.7) is Outcome.FAILED


def test_a_power_delivery_adapter_may_give_nothing_at_rest() -> None:
    """USB Type-C (from memory): a source gives nothing before it has seen a device."""
    label = Label(volts=20.0, amps=3.25, supply="usb-pd")
    for check in ("bench.adapter-open-voltage", "bench.adapter-output"):
        assert outcome(check, label, adapter_open_voltage=0.1) is Outcome.NOT_JUDGED


def test_a_voltage_that_fits_both_plugs_is_not_judged_at_rest() -> None:
    """20 V on the label: a round plug rests at 20 V, USB-C at 5 V or none."""
    for check in ("bench.adapter-open-voltage", "bench.adapter-output"):
        label = Label(volts=20.0, amps=3.25)
        assert outcome(check, label, adapter_open_voltage=5.1) is Outcome.NOT_JUDGED
        assert outcome(check, BARREL, adapter_open_voltage=5.1) is Outcome.FAILED


@pytest.mark.parametrize("complaint", [Complaint.NO_POWER, Complaint.NO_PICTURE])
def test_a_usb_c_meter_takes_the_place_of_the_round_jack(complaint: Complaint) -> None:
    """What only one kind of plug can be asked is asked of no other."""
    by_plug = {
        plug: {step.name for step in worksheet.steps(complaint, SHEET, plug)}
        for plug in SHEET.supply
    }
    assert by_plug["usb-pd"] - by_plug["barrel"] == {"usb-c-agreed", "usb-c-current"}
    assert by_plug["barrel"] - by_plug["usb-pd"] == {"jack-resistance", "current-at-press"}
    label = Label(volts=20.0, amps=3.25, supply="usb-pd")
    assert outcome("bench.usb-c-agreed", label, usb_c_agreed=20.1) is Outcome.PASSED
    assert outcome("bench.usb-c-agreed", label, usb_c_agreed=5.1) is Outcome.FAILED
    assert outcome("bench.current-at-press", label, usb_c_current=0.0) is Outcome.FAILED


@pytest.mark.parametrize(
    ("typed", "value", "shown"),
    [
        ("12k", 12_000.0, "12 kohm"),
        ("OL", 1e9, "OL (more than the meter's range)"),
        # The letter in the place of the point: IEC 60062.
        ("1M2", 1.2e6, "1.2 Mohm"),
        ("4R7", 4.7, "4.7 ohm"),
        ("4k7", 4_700.0, "4.7 kohm"),
        ("0,2 ohm", 0.2, "0.2 ohm"),
        ("150 m\u03a9", 0.15, "0.15 ohm"),
        ("3.3 k\u2126", 3_300.0, "3.3 kohm"),
        (".47M", 470_000.0, "470 kohm"),
        ("R47", 0.47, "0.47 ohm"),
        ("+0.3", 0.3, "0.3 ohm"),
        ("4,7k", 4_700.0, "4.7 kohm"),
        *((over, 1e9, "OL (more than the meter's range)")
          for over in ("0L", ".OL", "0.L M\u03a9", "OL k\u2126", "ol", "overload", "\u221e")),
    ],
)  # fmt: skip
def test_a_meters_own_notation(typed: str, value: float, shown: str) -> None:
    step = next(step for step in SHEET.step if step.name == "rail-resistance")
    assert read_figure(typed, step) == pytest.approx(value)
    assert quantity(value, step.unit) == shown


@pytest.mark.parametrize(
    ("step", "typed", "value"),
    [
        ("adapter-open-voltage", "19,5 V DC", 19.5),
        ("adapter-open-voltage", "19V5", 19.5),
        ("adapter-open-voltage", "+5100 mV", 5.1),
        ("adapter-open-voltage", "5,125", 5.125),
        ("usb-c-current", "20 mA", 0.02),
        ("usb-c-current", "350 \u00b5A", 0.00035),
    ],
)
def test_volts_and_amperes_as_meters_show_them(step: str, typed: str, value: float) -> None:
    asked = next(one for one in SHEET.step if one.name == step)
    assert read_figure(typed, asked) == pytest.approx(value)


@pytest.mark.parametrize(
    ("step", "typed", "says"),
    [
        # Read as 12 ohm it would be a short, and a sound board would be condemned.
        ("rail-resistance", "12,000", "write 12k or 12"),
        ("rail-resistance", "-0.2", "leads held together"),
        ("adapter-open-voltage", "-19.5", "the wrong way round"),
        ("adapter-open-voltage", "4R7", "no value in V"),
        ("adapter-open-voltage", "OL", "higher range"),
        ("rail-resistance", "---", "no number"),
        ("rail-resistance", "1.2.3", "no number"),
    ],
)
def test_what_can_be_read_in_two_ways_is_asked_again(step: str, typed: str, says: str) -> None:
    asked = next(one for one in SHEET.step if one.name == step)
    with pytest.raises(BadAnswers, match=says):
        read_figure(typed, asked)


@pytest.mark.parametrize(
    ("typed", "volts", "amps", "supply"),
    [
        ("5-20V PD 100W", 20.0, 5.0, "usb-pd"),
        ("19.5V\u23933.33A", 19.5, 3.33, None),
        ("19,5 V 3,33 A", 19.5, 3.33, None),
        ("3.25A 20V", 20.0, 3.25, None),
        ("20V 3250mA", 20.0, 3.25, None),
        ("19.5 VDC 4.62 amps", 19.5, 4.62, None),
        ("INPUT 100-240V~ 1.5A 50-60Hz OUTPUT 19.5V 3.33A", 19.5, 3.33, None),
        ("100-240V~ 1.5A 50-60Hz, 20V 3.25A", 20.0, 3.25, None),
        ("5V\u23933A/9V\u23933A/20V\u23933.25A 65W", 20.0, 3.25, "usb-pd"),
        # 20 V is the highest fixed supply in it (USB Power Delivery 3.2, from memory).
        ("5V 3A 20V 5A PPS: 3.3-21V 5A", 20.0, 5.0, "usb-pd"),
        ("USB-C 28V 5A", 28.0, 5.0, "usb-pd"),
    ],
)
def test_labels_as_they_are_printed(
    typed: str, volts: float, amps: float, supply: str | None
) -> None:
    assert read_label(typed, SHEET) == Label(volts=volts, amps=amps, supply=supply)


def test_a_label_of_usb_c_outweighs_a_plug_that_was_called_round() -> None:
    """Else 5.1 V at rest condemn a sound adapter."""
    assert read_label("PD 20V 3.25A", SHEET, "barrel").supply == "usb-pd"


@pytest.mark.parametrize("typed", ["65W", "PD 100W", "19", "100-240V 1.5A", "20 apples", ""])
def test_a_label_without_its_output_is_refused(typed: str) -> None:
    with pytest.raises(BadAnswers):
        read_label(typed, SHEET)


def test_outside_the_band_is_suspect_and_not_faulty() -> None:
    """A sound 19.4 V unit with 20.9 V at rest and 18.4 V loaded, as a forum post reports."""
    label = Label(volts=19.4, amps=3.3)
    measured = readings(label, adapter_open_voltage=20.9, adapter_loaded_voltage=18.4)
    failed = [r for r in measured if r.outcome is Outcome.FAILED]
    assert {r.check for r in failed} == {
        "bench.adapter-open-voltage",
        "bench.adapter-loaded-voltage",
    }
    assert all("suspect" in r.says for r in failed)
    found = located(
        Complaint.NO_POWER,
        label,
        adapter_open_voltage=20.9,
        adapter_loaded_voltage=18.4,
        adapter_flex_voltage=18.3,
        signs_of_life="no",
    )
    assert found.side is Side.UNDETERMINED


def test_bending_is_judged_against_the_steady_voltage() -> None:
    check, steady = "bench.adapter-flex", {"adapter_loaded_voltage": 18.6}
    assert outcome(check, **steady, adapter_flex_voltage=17.7) is Outcome.PASSED
    assert outcome(check, **steady, adapter_flex_voltage=17.6) is Outcome.FAILED
    # Without a steady value the label serves: 0.95 * 19.5 V = 18.525 V.
    assert outcome(check, adapter_flex_voltage=18.53) is Outcome.PASSED
    assert outcome(check, adapter_flex_voltage=18.52) is Outcome.FAILED


def test_without_a_label_nothing_is_judged_by_it() -> None:
    given = readings(None, adapter_open_voltage=19.6, rail_resistance=2.0, current_at_press=3.2)
    by_check = {r.check: r for r in given}
    for check in ("bench.adapter-open-voltage", "bench.adapter-output", "bench.current-limit"):
        assert by_check[check].outcome is Outcome.NOT_JUDGED
        assert "label" in (by_check[check].why_not or "")
    assert by_check["bench.adapter-output"].value == 19.6
    assert by_check["bench.rail-resistance"].outcome is Outcome.FAILED
    assert by_check["bench.current-at-press"].outcome is Outcome.PASSED


def test_a_label_without_current_leaves_the_current_limit_open() -> None:
    label = Label(volts=19.5)
    assert outcome("bench.current-limit", label, current_at_press=3.2) is Outcome.NOT_JUDGED


def test_a_step_left_out_on_purpose_is_kept_with_its_reason() -> None:
    (reading,) = readings(rail_resistance="not measured: no probe fits")
    assert reading.outcome is Outcome.NOT_JUDGED
    assert reading.why_not == "no probe fits"


def test_readings_say_value_unit_and_limit() -> None:
    reading = next(r for r in readings(adapter_open_voltage=21) if "open" in r.check)
    assert reading.value == 21.0
    assert reading.unit == "V"
    assert "21 V" in reading.says
    assert "18.52 to 20.48 V" in reading.says
    assert any("rule" in d or "tolerance" in d for d in reading.details)


FILE = """
[label]
volts = 19.5
watts = 65

[answers]
adapter-open-voltage = 19
jack-loose = "firm"
rail-resistance = "not measured: no time"
"""


def test_an_answers_file() -> None:
    filled = worksheet.parse(FILE, SHEET)
    assert filled.label is not None
    assert filled.label.amps == pytest.approx(65 / 19.5)
    assert filled.answers["adapter-open-voltage"] == 19.0
    found = worksheet.judge(filled.answers, filled.label, SHEET)
    assert {r.check: r.outcome for r in found} == {
        "bench.adapter-output": Outcome.PASSED,
        "bench.adapter-open-voltage": Outcome.PASSED,
        "bench.jack-loose": Outcome.PASSED,
        "bench.rail-resistance": Outcome.NOT_JUDGED,
    }


def test_an_answers_file_holds_a_label_as_it_is_printed() -> None:
    """Voltages as a USB-C adapter's label lists them; USB Power Delivery 3.2, from memory."""
    printed = "Output 5V 3A, 9V 3A, 15V 3A, 20V 3.25A"
    filled = worksheet.parse(f'[label]\nvolts = "{printed}"\n', SHEET)
    assert filled.label == read_label(printed, SHEET)
    assert (filled.supply, filled.label and filled.label.volts) == ("usb-pd", 20.0)
    told = worksheet.parse('[label]\nvolts = "20V 3.25A"\nsupply = "barrel"\n', SHEET)
    assert told.supply == "barrel"


@pytest.mark.parametrize("flexed", [19.1, 4.0, 0.6])
def test_a_lowest_value_lies_below_the_first(flexed: float) -> None:
    for first, wanted in ((19.3, True), (0.0, flexed <= 1.0)):
        found = {r.check: r for r in readings(adapter_loaded_voltage=first,
                                              adapter_flex_voltage=flexed)}  # fmt: skip
        open_ones = {c for c, r in found.items() if r.outcome is Outcome.NOT_JUDGED}
        assert open_ones == (set() if wanted else set(found))
        assert all("measure both again" in str(found[c].why_not) for c in open_ones)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[answers\n", "line 1"),
        ("[answer]\n", "'answer'"),
        ("answers = 3\n", "[answers]"),
        ("label = 19\n", "[label]"),
        ("[answers]\nadaptor = 19.5\n", "adapter-open-voltage"),
        ('[answers]\nadapter-open-voltage = "19,5 kg"\n', "a value in V"),
        ('[answers]\nadapter-open-voltage = "OL"\n', "higher range"),
        ("[answers]\nadapter-open-voltage = true\n", "a value in V"),
        ("[answers]\nadapter-open-voltage = 195\n", "between 0 and 60 V"),
        ("[answers]\nadapter-open-voltage = nan\n", "between 0 and 60 V"),
        (f"[answers]\nadapter-open-voltage = -1{'0' * 400}\n", "between 0 and 60 V"),
        (f"[answers]\nadapter-open-voltage = {'9' * 5000}\n", "not a TOML file"),
        ('[answers]\njack-loose = "wobbly"\n', "firm, loose"),
        ("[answers]\njack-loose = 1\n", "firm, loose"),
        ("[label]\namps = 3.3\n", "volts"),
        ('[label]\nvolts = "19"\n', "not understood"),
        ('[label]\nvolts = "19 V 3 A"\nwatts = 65\n', "watts beside the whole label"),
        ('[label]\nvolts = "19 V"\nsupply = 3\n', "barrel, usb-pd"),
        ("[label]\nvolts = 230\n", "3 to 60 V"),
        ("[label]\nvolts = 19\nwatts = true\n", "watts"),
        (f"[label]\nvolts = 1{'0' * 400}\nwatts = 65\n", "out of range"),
        (f"[label]\nvolts = 19\nwatts = 1{'0' * 400}\n", "up to 30 A"),
        ("[label]\nvolts = 19\namps = 65\n", "up to 30 A"),
        ('[label]\nvolts = 19\nsupply = "round"\n', "barrel, usb-pd"),
        ("[label]\nvolts = 19\ncolour = 3\n", "'colour'"),
        ("[label]\nvolts = 0\nwatts = 65\n", "3 to 60 V"),
    ],
)
def test_a_broken_answers_file_is_refused_with_the_reason(text: str, says: str) -> None:
    with pytest.raises(BadAnswers) as caught:
        worksheet.parse(text, SHEET)
    assert says in str(caught.value)


SOUND_ADAPTER: dict[str, float | str] = {
    "adapter_open_voltage": 19.6,
    "adapter_loaded_voltage": 19.3,
    "adapter_flex_voltage": 19.2,
}
SOUND_JACK: dict[str, float | str] = {"jack_loose": "firm", "jack_resistance": 0.2}


def test_a_dead_adapter_is_named() -> None:
    found = located(Complaint.NO_POWER, adapter_open_voltage=0.0, signs_of_life="no")
    assert (found.side, found.unit) == (Side.DEVICE, "adapter")


def test_a_broken_lead_is_named() -> None:
    bent = SOUND_ADAPTER | {"adapter_flex_voltage": 3.0}
    found = located(Complaint.NO_POWER, **bent, **SOUND_JACK, signs_of_life="no")
    assert (found.side, found.unit) == (Side.DEVICE, "adapter")


def test_a_broken_jack_is_named() -> None:
    jack: dict[str, float | str] = {"jack_loose": "loose", "jack_resistance": 900.0}
    found = located(Complaint.NO_POWER, **SOUND_ADAPTER, **jack, signs_of_life="no")
    assert found.unit == "power-jack"


def test_a_shorted_rail_is_the_mainboard() -> None:
    found = located(
        Complaint.NO_POWER,
        **SOUND_ADAPTER,
        **SOUND_JACK,
        signs_of_life="no",
        starts_without_battery="same",
        button=1.0,
        rail_resistance=2.0,
        current_at_press=3.3,
    )
    assert (found.side, found.unit) == (Side.CONTROLLER, "mainboard")


def test_a_dead_machine_alone_settles_nothing() -> None:
    assert located(Complaint.NO_POWER, signs_of_life="no").side is Side.UNDETERMINED


def test_a_picture_outside_clears_the_board_and_memory() -> None:
    found = located(
        Complaint.NO_PICTURE,
        signs_of_life="yes",
        own_screen="faint",
        external_screen="picture",
        start_code="none",
    )
    assert found.candidates[0].kind in ("panel", "panel-connector")
    assert sum(c.probability for c in found.candidates if c.unit == "mainboard") < 0.1
