"""What changed between runs: found by identity, with identities that lie."""

from __future__ import annotations

import msgspec
import pytest

from livecheck.diagnosis import locate
from livecheck.records import FirstPartBack, Inventory, Machine, Part, PartIs, Swap
from livecheck.topology import swaps
from livecheck.topology.identity import believable, trusted
from tests.diagnosis.laptop import (
    CARD,
    DRIVE1,
    DRIVE2,
    MODULE1,
    PORT1,
    PORT2,
    SLOT,
    drive,
    laptop,
    reading,
    run,
    tables,
)

WORKS = "storage.works"


def told(found: tuple[Swap, ...]) -> list[tuple[str, str, str | None, str | None]]:
    return [(s.change, s.place, s.before, s.after) for s in found]


def test_nothing_changed() -> None:
    inventory = laptop(drive(DRIVE1, PORT1))
    assert swaps.between([run(1, inventory), run(2, inventory)]) == ()


def test_the_benchs_own_stick_is_no_change_of_the_machine() -> None:
    """At another socket at each start, or pulled since."""
    stick = msgspec.structs.replace(drive("drive:STICK", PORT2), bench_own=True)
    there = laptop(drive(DRIVE1, PORT1), stick)
    for now in (laptop(drive(DRIVE1, PORT1)), laptop(msgspec.structs.replace(stick, place=PORT1))):
        found = told(swaps.between([run(1, there), run(2, now)]))
        assert not any("STICK" in str(words) for one in found for words in one)
        assert PORT2 not in [place for _, place, _, _ in found]


def test_swapped() -> None:
    found = swaps.between(
        [run(1, laptop(drive(DRIVE1, PORT1))), run(2, laptop(drive(DRIVE2, PORT1)))]
    )
    assert told(found) == [("swapped", PORT1, DRIVE1, DRIVE2)]
    assert (found[0].from_run, found[0].to_run, found[0].part_kind) == (1, 2, "drive")


def test_moved_removed_added() -> None:
    one = run(1, laptop(drive(DRIVE1, PORT1)))
    two = run(2, laptop(drive(DRIVE1, PORT2)))
    assert told(swaps.between([one, two])) == [
        ("moved", PORT1, DRIVE1, None),
        ("moved", PORT2, None, DRIVE1),
    ]
    empty = run(3, laptop())
    assert told(swaps.between([two, empty])) == [("removed", PORT2, DRIVE1, None)]
    back = run(4, laptop(drive(DRIVE1, PORT1)))
    assert told(swaps.between([empty, back])) == [("added", PORT1, None, DRIVE1)]


def test_two_parts_changed_over() -> None:
    one = run(1, laptop(drive(DRIVE1, PORT1), drive(DRIVE2, PORT2)))
    two = run(2, laptop(drive(DRIVE2, PORT1), drive(DRIVE1, PORT2)))
    assert told(swaps.between([one, two])) == [
        ("moved", PORT1, DRIVE1, DRIVE2),
        ("moved", PORT2, DRIVE2, DRIVE1),
    ]


def test_reseated() -> None:
    inventory = laptop(drive(DRIVE1, PORT1))
    found = swaps.between([run(1, inventory), run(2, inventory, reseated=(PORT1,))])
    assert told(found) == [("reseated", PORT1, DRIVE1, DRIVE1)]


def test_out_and_back_is_the_same_part() -> None:
    fitted = laptop(drive(DRIVE1, PORT1))
    runs = [run(1, fitted), run(2, laptop()), run(3, fitted)]
    first, last = swaps.between(runs)
    assert (first.before, last.after) == (DRIVE1, DRIVE1)


def test_order_is_by_run_number() -> None:
    one, two = run(1, laptop(drive(DRIVE1, PORT1))), run(2, laptop(drive(DRIVE2, PORT1)))
    assert swaps.between([two, one]) == swaps.between([one, two])


@pytest.mark.parametrize(
    "word",
    ["", "   ", "To Be Filled By O.E.M.", "Default string", "00000000", "FFFF-FFFF", "None",
     "0123456789", "123456789", "System Serial Number", "N/A", "xxxxxxx", "serial:00000000",
     "serial:Not Specified", "mac:00:00:00:00:00:00", "uuid:ffffffff-ffff-ffff-ffff-ffffffffffff"],
)  # fmt: skip
def test_words_that_identify_nothing(word: str) -> None:
    assert not believable(word)


@pytest.mark.parametrize("word", ["S3Z8NB0K", "wwn:5002538d40b2c3aa", "mac:02:00:00:00:00:01"])
def test_words_that_do(word: str) -> None:
    assert believable(word)


def test_an_identity_two_parts_claim_is_none() -> None:
    parts = [drive("drive:A1B2C3", PORT1), drive("drive:A1B2C3-2", PORT2, identity="serial:A1B2C3")]
    assert trusted(parts) == {}


def test_liar_is_known_by_its_place() -> None:
    """Two runs with a drive whose serial is a default string: no swap is made up."""
    liar = drive("drive:0000", PORT1, identity="serial:00000000")
    found = swaps.between([run(1, laptop(liar)), run(2, laptop(liar))])
    assert found == ()


def test_without_identity_another_model_is_another_part() -> None:
    def adapter(model: str) -> Inventory:
        inventory = laptop(drive(DRIVE1, PORT1))
        parts = tuple(
            msgspec.structs.replace(p, model=model) if p.kind == "adapter" else p
            for p in inventory.parts
        )
        return msgspec.structs.replace(inventory, parts=parts)

    found = swaps.between([run(1, adapter("A65")), run(2, adapter("B90")), run(3, adapter("B90"))])
    assert [(s.change, s.place) for s in found] == [("swapped", "jack:AC")]


def test_without_identity_the_technician_is_asked() -> None:
    inventory = laptop(drive(DRIVE1, PORT1))
    changed = PartIs(place="jack:AC", name="bench spare", known_good=True)
    back = FirstPartBack(place="jack:AC")
    runs = [run(1, inventory), run(2, inventory, answers=(changed,)), run(3, inventory)]
    found = swaps.between(runs)
    assert told(found) == [("swapped", "jack:AC", "adapter@jack:AC", "adapter:bench spare")]
    again = swaps.between([*runs, run(4, inventory, answers=(back,))])
    assert again[-1].after == "adapter@jack:AC"


def test_board_replaced() -> None:
    old = run(1, laptop(drive(DRIVE1, PORT1)))
    inventory = laptop(drive(DRIVE1, PORT1))
    machine = Machine(uuid="0a1b2c3d-1111-4222-8333-444455556666", board_serial="BRD-90210")
    new = run(2, msgspec.structs.replace(inventory, machine=machine))
    assert told(swaps.between([old, new])) == [
        ("board replaced", "mainboard", "mainboard", "mainboard")
    ]


def test_a_lying_board_is_not_another_board() -> None:
    inventory = laptop(drive(DRIVE1, PORT1), board_serial="To be filled by O.E.M.")
    lying = Machine(uuid="ffffffff-ffff-ffff-ffff-ffffffffffff", board_serial="Default string")
    runs = [run(1, inventory), run(2, msgspec.structs.replace(inventory, machine=lying))]
    assert swaps.between(runs) == ()


def test_replaced_board_takes_its_fault_along() -> None:
    """Failed on the old board with two drives, passes on the new: the old board's place."""
    new_machine = Machine(uuid="0a1b2c3d-1111-4222-8333-444455556666", board_serial="BRD-90210")
    fixed = msgspec.structs.replace(laptop(drive(DRIVE2, PORT1)), machine=new_machine)
    runs = [
        run(1, laptop(drive(DRIVE1, PORT1)), reading(WORKS, DRIVE1, False)),
        run(2, laptop(drive(DRIVE2, PORT1)), reading(WORKS, DRIVE2, False)),
        run(3, fixed, reading(WORKS, DRIVE2, True), reading(WORKS, DRIVE2, True)),
    ]
    found = locate("t", runs, tables())
    assert found.candidates[0].component == f"board 1/{PORT1}"
    assert found.component in (None, f"board 1/{PORT1}")


def test_another_machine_is_no_swap_of_everything() -> None:
    other = laptop(drive(DRIVE1, PORT2), board_serial="BRD-55555")
    other = msgspec.structs.replace(
        other, machine=Machine(uuid="99999999-aaaa-4bbb-8ccc-dddddddddddd", board_serial="BRD-5A5A")
    )
    runs = [
        run(1, laptop(drive(DRIVE1, PORT1))),
        run(2, other, in_known_good_machine=True),
        run(3, laptop(drive(DRIVE1, PORT1))),
    ]
    # The same invented module, card and battery stand in both machines' inventories.
    lent = [s for s in swaps.between(runs) if s.after == DRIVE1]
    assert told(tuple(lent)) == [("moved", PORT2, None, DRIVE1)]
    assert not any(s.change == "board replaced" or s.to_run == 3 for s in swaps.between(runs))


def test_a_part_that_stops_answering_is_still_the_part() -> None:
    one = run(1, laptop(drive(DRIVE1, PORT1)))
    two = run(2, laptop(drive(DRIVE1, PORT1), silent=(SLOT,)))
    assert swaps.between([one, two]) == ()


def test_a_reseat_brings_the_silent_part_to_light() -> None:
    one = run(1, laptop(drive(DRIVE1, PORT1), silent=(SLOT,)))
    two = run(2, laptop(drive(DRIVE1, PORT1)), reseated=(SLOT,))
    found = swaps.between([one, two])
    assert [s.change for s in found] == ["reseated"]
    assert found[0].before == found[0].after


def test_a_silent_part_is_known_again_when_it_comes_back_after_a_spare() -> None:
    """Silent in its slot, out for a known-good card, back and answering: the same part."""
    spare = CARD.replace("00:01", "00:99")
    own = laptop(drive(DRIVE1, PORT1))
    with_spare = msgspec.structs.replace(
        own,
        parts=tuple(
            msgspec.structs.replace(p, id=spare, identity="mac:02:00:00:00:00:99")
            if p.id == CARD
            else p
            for p in own.parts
        ),
    )
    runs = [
        run(1, laptop(drive(DRIVE1, PORT1), silent=(SLOT,))),
        run(2, with_spare, known_good=("mac:02:00:00:00:00:99",)),
        run(3, own),
    ]
    found = swaps.between(runs)
    assert told(found) == [("swapped", SLOT, CARD, spare), ("swapped", SLOT, spare, CARD)]
    # Without the shop's word for the one in between, nothing is known of what came after.
    unknown = [runs[0], run(2, with_spare), run(3, own)]
    assert told(swaps.between(unknown))[0][2] == f"wireless-card@{SLOT}"


def test_soldered_part_belongs_to_the_board() -> None:
    chip = Part(
        id="wireless-card@board", kind="wireless-card", name="chip", place="", soldered=True
    )
    inventory = laptop(drive(DRIVE1, PORT1), extra=[chip])
    found = locate("t", [run(1, inventory, reading("memory.march", MODULE1, True))], tables())
    sides = {c.component: (c.side.value, c.unit) for c in found.candidates}
    assert sides.get("wireless-card@board", ("controller", "mainboard")) == (
        "controller",
        "mainboard",
    )


def test_a_soldered_part_that_changes_its_serial_is_still_the_board_s() -> None:
    """Firmware that gives it another number in each start: the case is judged all the same."""

    def soldered(serial: str) -> Inventory:
        part = Part(
            id=f"drive:{serial}",
            kind="drive",
            name="built-in memory",
            place=PORT1,
            identity=f"serial:{serial}",
            soldered=True,
        )
        return laptop(part)

    runs = [
        run(number, soldered(serial), reading(WORKS, f"drive:{serial}", False))
        for number, serial in ((1, "INV-0501"), (2, "INV-0502"), (3, "INV-0503"))
    ]
    assert swaps.between(runs) == ()
    found = locate("t", runs, tables())
    assert "drive:INV-0501" in {candidate.component for candidate in found.candidates}
    assert not {"drive:INV-0502", "drive:INV-0503"} & {c.component for c in found.candidates}
    assert found.next_step is not None
