"""Worksheets as people write figures, and words that only look like a liquid or a fall.

Sources: IEC 60062 (12k, 4R7); SI prefixes (m is a thousandth, M a million); TOML 1.0; Unicode
general category Nd (Python's float() reads every one of them); labels of adapters, common practice,
no source.
"""

from __future__ import annotations

import time
from pathlib import Path
from typing import Final

import pytest

from livecheck import intake, knowledge
from livecheck.diagnosis import worksheet
from livecheck.diagnosis.worksheet_words import BadAnswers, read_label
from livecheck.records import ToldLine
from tests.case_index.drives import shop_at
from tests.hostile.drives import command

SHEET: Final = knowledge.worksheet()
VOLTS, OHMS = "adapter-open-voltage", "rail-resistance"


def _figure(name: str, words: object) -> float | str | None:
    """What it is read as; None: refused, with words."""
    try:
        return worksheet.answer(name, words, SHEET)
    except BadAnswers as error:
        assert str(error).strip()
        return None


@pytest.mark.parametrize("name, words", [
    (VOLTS, "19.6 A"), (VOLTS, "19.6 ohm"), (VOLTS, "19.6 Ω"), (VOLTS, "19.6 W"), (VOLTS, "19.6 C"),
    (VOLTS, "19.6A DC"), (VOLTS, "19.6 Hz"), (VOLTS, "19.6 %"),
    (OHMS, "12 V"), (OHMS, "12 A"), (OHMS, "12k V"), (OHMS, "12 W"), (OHMS, "12 F"),
    ("current-at-press", "1.2 V"), ("current-at-press", "1.2 ohm"), ("current-at-press", "1.2 W"),
    ("coin-cell-voltage", "3.0 A"), ("coin-cell-voltage", "220 mAh"), ("button", "12 V"),
])  # fmt: skip
def test_units_of_another_quantity(name: str, words: str) -> None:
    """W01: whoever measured amperes did not answer what was asked."""
    assert _figure(name, words) is None


MEANT: Final = (
    (VOLTS, "19,6", 19.6), (VOLTS, "19.6V", 19.6), (VOLTS, "19600 mV", 19.6),
    (VOLTS, "19600mV", 19.6), (VOLTS, "0.0196 kV", 19.6), (VOLTS, "1.96e1", 19.6),
    (VOLTS, "1.234,5", None), (VOLTS, "19'600", None), (VOLTS, "19 600", None),
    (VOLTS, "19.6.1", None), (VOLTS, "19..6", None), (VOLTS, "\u0661\u0669", 19.0),
    (VOLTS, "\uff11\uff19\uff0e\uff16", 19.6), (VOLTS, "\u00bd", 0.5), (VOLTS, "19\u00bd", 19.5),
    (VOLTS, "∞", None), (VOLTS, "-", None), (VOLTS, "--", None), (VOLTS, "\u221219.6", None),
    (VOLTS, "- 19.6", None), (VOLTS, "nan", None), (VOLTS, "inf", None), (VOLTS, "0x13", None),
    (VOLTS, "1_9", None), (VOLTS, "~19.6", 19.6), (VOLTS, "<0.1", None), (VOLTS, ">19", None),
    (VOLTS, "19-20", None), (VOLTS, "19±1", None), (VOLTS, "19.6V 3A", None), (VOLTS, "", None),
    (VOLTS, " ", None), (VOLTS, "19\u00b2", None), (VOLTS, "\u2460", None),
    (VOLTS, "zero", None), (VOLTS, "19.6 V (cold)", None), (VOLTS, "1O", None),
    (OHMS, "12k", 12e3), (OHMS, "12 kΩ", 12e3), (OHMS, "12 KOhm", 12e3), (OHMS, "12 mohm", 0.012),
    (OHMS, "12 Mohm", 12e6), (OHMS, "12 MΩ", 12e6), (OHMS, "12 mΩ", 0.012), (OHMS, "12kk", None),
    (OHMS, "4R7", 4.7), (OHMS, "1M2", 1.2e6), (OHMS, "1m2", 0.0012), (OHMS, "OL", 1e9),
    (OHMS, "0L", 1e9), (OHMS, "∞", 1e9), (OHMS, "1,5", 1.5), (OHMS, "1,500", None),
    (OHMS, "1.500", 1.5), (OHMS, "10 OL", None), (OHMS, "short", None), (OHMS, "beep", None),
    (OHMS, "1e3", 1000.0), (OHMS, "\u0661\u0662k", 12e3), (OHMS, "12 kV", None),
    (OHMS, ">20M", None), (OHMS, "12G", None), (OHMS, "0", 0.0), (OHMS, "-0", 0.0),
)  # fmt: skip


@pytest.mark.parametrize("name, words, meant", MEANT)
def test_figures_as_they_are_written(name: str, words: str, meant: float | None) -> None:
    """W02: the figure that was meant, or none."""
    read = _figure(name, words)
    assert read is None or (meant is not None and read == pytest.approx(meant)), read


LABELS: Final = (
    ("INPUT: 100-240V~ 50/60Hz 1.5A OUTPUT: 19.5V 3.33A", 19.5),
    ("Input 100-240 V~1.7A Output 20V⎓3.25A 65W", 20.0),
    ("19.5V 3.33A (input 100-240V 1.5A)", 19.5),
    ("100-240V 19V 2.37A", 19.0),
    ("AC 230V 1.5A / DC 19V 4.74A", 19.0),
    ("EINGANG 100-240V~ 1,5A AUSGANG 19,5V 4,62A", 19.5),
    ("PRI: 100-240V-1,2A SEC: 19V-3,42A", 19.0),
    ("19.5V-3.33A", 19.5),
    ("19V=3,42A", 19.0),
    ("5V/3A 9V/3A 15V/3A 20V/3.25A", 20.0),
    ("5.0V=3.0A or 9.0V=3.0A or 20.0V=5.0A 100W MAX", 20.0),
    ("PPS 3.3-21V 5A, 20V 5A", 20.0),
    ("20V 65W PD3.0", 20.0),
    ("Model XA-65-19 19V 3.42A", 19.0),
    ("65W 19V", 19.0),
    ("90 W", None),
    ("3.33A 19.5V", 19.5),
    ("240V", None),
    ("19.5 3.33", None),
    ("\u0661\u0669V", 19.0),
    ("19.5V" * 2000, 19.5),
    ("1" * 10_000 + "V", None),
)  # fmt: skip


@pytest.mark.parametrize("words, volts", LABELS, ids=range(len(LABELS)))
@pytest.mark.parametrize("supply", [None, "barrel", "usb-pd"])
def test_whole_labels(supply: str | None, words: str, volts: float | None) -> None:
    """W03: the mains is never what the adapter gives."""
    begun = time.process_time()
    try:
        found = read_label(words, SHEET, supply)
    except BadAnswers as error:
        assert str(error)
    else:
        fixed = supply == "usb-pd"
        assert volts is not None
        assert found.volts == pytest.approx(volts, abs=5 if fixed else 0.01)
        assert found.amps is None or found.amps < 10
    assert time.process_time() - begun < 1


ODD: Final = (
    "adapter-open-voltage = 2026-03-02", "adapter-open-voltage = [19.6]",
    "adapter-open-voltage = { v = 19.6 }", "adapter-open-voltage = true",
    "adapter-open-voltage = 19.6\nadapter-open-voltage = 5.0", "adapter-open-voltage = nan",
    "adapter-open-voltage = -inf", f"adapter-open-voltage = {'9' * 1_000_000}",
    f"adapter-open-voltage = '{'9' * 1_000_000}'", "adapter-open-voltage = -0.0",
    f"adapter-open-voltage = {'[' * 3000}{']' * 3000}", "adapter-open-voltage.x = 1",
    '"" = 1', '"adapter-open-voltage " = 19.6', "jack-loose = 1", "jack-loose = 'FIRM'",
    "jack-loose = ['firm']", "jack-loose = 'not measured: \\u001b[2J'", "x = \x00",
    "adapter-open-voltage = 'not measured'", "adapter-open-voltage = '''\n19.6\n'''",
    f"jack-loose = 'not measured: {'y' * 100_000}'", "[answers.adapter-open-voltage]",
    "[[answers]]", "adapter-open-voltage = 0b1", "adapter-open-voltage = 1_9.6",
)  # fmt: skip


@pytest.mark.parametrize("line", ODD, ids=range(len(ODD)))
def test_answers_of_no_kind(line: str, tmp_path: Path) -> None:
    """W04: refused with words, or a worksheet that is judged."""
    shop = shop_at(tmp_path / "drive")
    file = tmp_path / "sheet.toml"
    file.write_text(f"[label]\nvolts = 19.5\namps = 3.33\n[answers]\n{line}\n", "utf-8")
    begun = time.process_time()
    status, out, err = command("run", "--complaint", "no-power", "--readings", str(file),
                               "--shop", str(shop.root), "--ticket", "W")  # fmt: skip
    assert time.process_time() - begun < 5
    assert status in (0, 2, 3), err
    assert status == 0 or "livecheck: " in err
    assert not set(out + err) & set("\x1b\x00")
    assert len(out + err) < 250_000


SHEET_TEXT: Final = ("[label]\nvolts = 19.5\namps = 3.33\n[answers]\nadapter-open-voltage = 0.0\n"
                     "jack-loose = \"firm\"\n# größer als 1 Ω\n")  # fmt: skip
SAVED: Final = {
    "mark": b"\xef\xbb\xbf" + SHEET_TEXT.encode(),
    "mark and CRLF": b"\xef\xbb\xbf" + SHEET_TEXT.replace("\n", "\r\n").encode(),
    "CRLF": SHEET_TEXT.replace("\n", "\r\n").encode(),
    "UTF-16": SHEET_TEXT.encode("utf-16"),
    "UTF-16BE": SHEET_TEXT.encode("utf-16-be"),
    "Latin-1": SHEET_TEXT.replace("Ω", "ohm").encode("latin-1"),
    "CR": SHEET_TEXT.replace("\n", "\r").encode(),
    "NUL at its end": SHEET_TEXT.encode() + bytes(512),
}


@pytest.mark.parametrize("how", SAVED)
def test_a_worksheet_of_another_system(how: str, tmp_path: Path,
                                       monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    """W05: a mark and line ends change nothing; other letters are named."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    shop = shop_at(tmp_path / "drive")
    file = tmp_path / "sheet.toml"
    file.write_bytes(SAVED[how])
    status, out, err = command("run", "--complaint", "no-power", "--readings", str(file),
                               "--shop", str(shop.root), "--ticket", "W")  # fmt: skip
    if how in ("mark", "mark and CRLF", "CRLF"):
        assert status == 0, err
        assert "adapter" in out.lower()
    else:
        assert status in (0, 2, 3)
        assert status == 0 or "sheet.toml" in err or "UTF-8" in err or "not a TOML" in err, err


TABLE: Final = knowledge.load().intake
HARMLESS: Final = (
    ("after", "an update of Dropbox"), ("after", "it came back from Waterloo"),
    ("after", "a file sent by wetransfer"), ("after", "a fellow looked at it"),
    ("after", "the fallback system was started"), ("after", "a droplet icon on the desktop"),
    ("marks", "none, the waterproof bag was shut"), ("after", "a wetware course"),
    ("marks", "none"), ("after", "nothing known"), ("marks", "the drop-down menu is stuck"),
)  # fmt: skip
DENIED: Final = (
    ("after", "no liquid"), ("after", "did not fall"), ("after", "it never fell down"),
    ("after", "nothing wet, not dropped"), ("marks", "no liquid marks"),
    ("marks", "none, not swollen"), ("marks", "no dents or cracks"), ("after", "was never dropped"),
    ("after", "without a fall"), ("marks", "not burnt"), ("after", "no water, no fall"),
    ("marks", "battery not bulging"),
)  # fmt: skip
TRUE: Final = (
    ("after", "a glass of water"), ("after", "it fell down"), ("after", "dropped on the floor"),
    ("after", "spilled tea, no fall"), ("after", "not new, a fall last week"),
    ("marks", "wet inside, not burnt"), ("marks", "swollen, not charged"),
    ("after", "no idea, but it fell"), ("after", "a spill"), ("after", "water, not much"),
    ("after", "does not start since it was dropped"), ("after", "nothing since the liquid"),
)  # fmt: skip


def _heeded(about: str, words: str) -> bool:
    told = (ToldLine(about=about, words=words),)
    return intake.opens(told, TABLE) or bool(intake.cautions(told, TABLE))


@pytest.mark.parametrize("about, words", HARMLESS)
def test_a_name_that_holds_the_word(about: str, words: str) -> None:
    """R01: nothing was spilled and nothing fell."""
    assert not _heeded(about, words)


@pytest.mark.parametrize("about, words", DENIED)
def test_what_did_not_happen(about: str, words: str) -> None:
    """R02: the customer says no."""
    assert not _heeded(about, words)


LATER_DENIED: Final = (
    ("marks", "no signs of liquid"), ("after", "no traces of water"), ("after", "never had a fall"),
    ("after", "did not get wet"), ("after", "hasn't been dropped"), ("marks", "no visible dents"),
    ("after", "no sign of a spill"), ("after", "no known fall"),
    ("after", "not fallen, no liquids"),
)  # fmt: skip
LATER_TRUE: Final = (
    ("after", "coffee spill"), ("after", "fell off the table, no dents"),
    ("after", "was not on when it fell"), ("after", "no longer works since it got wet"),
    ("after", "doesn't charge after a fall"), ("after", "no picture after water"),
    ("marks", "no burnt smell but liquid marks"), ("after", "no sign of life after a fall"),
    ("after", "no charger, spilled wine"), ("marks", "dents, no cracks"), ("after", "drops of tea"),
    ("after", "it has fallen"), ("after", "kept falling asleep, then fell"),
)  # fmt: skip


@pytest.mark.parametrize("about, words", LATER_DENIED)
def test_what_did_not_happen_in_other_words(about: str, words: str) -> None:
    """R02: written once the first were mended."""
    assert not _heeded(about, words)


@pytest.mark.parametrize("about, words", LATER_TRUE)
def test_what_did_happen_in_other_words(about: str, words: str) -> None:
    """R02: written once the first were mended."""
    assert _heeded(about, words)


@pytest.mark.parametrize("about, words", TRUE)
def test_what_did_happen(about: str, words: str) -> None:
    """R01, R02: and these are heeded, as before."""
    assert _heeded(about, words)
