import numpy as np

from tunnelwright.report.figure import Label
from tunnelwright.report.labels import Box, Occupied, box_of, place, shortened, text_width

ROOM = Box(0.0, 0.0, 400.0, 100.0)


def moving(words: str = "push 846: 31 kPa low") -> Label:
    return Label(x=0.0, y=0.0, words=words, dx=8.0, dy=4.0, may_move=True)


def test_two_labels_at_one_place_do_not_touch() -> None:
    occupied = Occupied(ROOM)
    boxes = []
    for _ in range(3):
        found = place(moving(), 200.0, 50.0, occupied)
        assert found is not None
        boxes.append(box_of(Label(x=0, y=0, words=moving().words, anchor=found[2]), found[0], found[1]))  # type: ignore[arg-type]
    assert not any(first.touches(second) for number, first in enumerate(boxes) for second in boxes[number + 1 :])


def test_label_leaves_the_data_line() -> None:
    occupied = Occupied(ROOM)
    occupied.add_line(np.array([0.0, 400.0]), np.array([50.0, 50.0]), weight=2.0)
    found = place(moving(), 200.0, 50.0, occupied)
    assert found is not None
    box = box_of(Label(x=0, y=0, words=moving().words, anchor=found[2]), found[0], found[1])  # type: ignore[arg-type]
    assert box.bottom <= 50.0 or box.top >= 50.0


def test_label_near_the_edge_turns_inwards() -> None:
    found = place(moving(), 395.0, 50.0, Occupied(ROOM))
    assert found is not None
    assert found[2] != "start"


def test_label_without_room_is_left_out_and_a_fixed_one_is_not() -> None:
    occupied = Occupied(ROOM, boxes=[ROOM])
    assert place(moving(), 200.0, 50.0, occupied) is None
    assert place(Label(x=0, y=0, words="ring"), 200.0, 50.0, occupied) == (200.0, 50.0, "start")


def test_words_are_cut_after_a_whole_word() -> None:
    words = "hold 1: BH 23, unsealed, on the axis, 1+338"
    cut = shortened(words, 160.0)
    assert cut.endswith("…")
    assert words.startswith(cut[:-1])
    assert text_width(cut) <= 160.0
    assert shortened("short", 160.0) == "short"
