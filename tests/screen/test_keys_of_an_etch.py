"""Keys under all their names, the deaf half second, what the terminal wants."""

import pytest
from screen_bench import ascii_look

from benchrun.record.clock import VirtualClock
from benchrun.screen.keys import Steady, named_key
from benchrun.screen.theme import THEMES, appearance_of


class Pulse:
    """Seconds moved by hand."""

    def __init__(self) -> None:
        self.seconds = 100.0

    def __call__(self) -> float:
        return self.seconds


@pytest.mark.parametrize(
    ("key", "character", "means"),
    [
        ("5", "5", "5"),
        ("add", None, "+"),
        ("subtract", None, "-"),
        ("multiply", None, "*"),
        ("divide", None, "/"),
        ("decimal", None, "."),
        ("separator", None, "."),
        ("plus", "+", "+"),
        ("full_stop", ".", "."),
        ("enter", "\r", "enter"),
        ("escape", "\x1b", "back"),
        ("f2", None, "*"),
        ("ctrl+j", None, None),
    ],
)
def test_a_keypad_is_known_under_every_name(key, character, means):
    printable = character if character and character.isprintable() else None
    assert named_key(key, printable) == means


def test_enter_is_deaf_for_half_a_second_after_what_it_does_changed():
    pulse = Pulse()
    steady = Steady(pulse)
    steady.saw("lift")
    assert steady.deaf("lift")
    pulse.seconds += 0.49
    assert steady.deaf("lift")
    pulse.seconds += 0.02
    assert not steady.deaf("lift")
    assert steady.deaf("put in")


def test_what_the_hand_chose_itself_is_not_waited_for():
    pulse = Pulse()
    steady = Steady(pulse)
    steady.chose("lift")
    assert not steady.deaf("lift")


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, definition of contrast ratio."""

    def light(colour: str) -> float:
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((light(one), light(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("name", ["dark", "light"])
def test_text_stands_out_from_its_ground_by_seven_to_one(name):
    theme = THEMES[name]
    for colour in (theme.foreground, theme.accent, theme.variables["quiet"]):
        assert contrast(colour, theme.background) >= 7


def test_the_terminal_says_how_it_wants_to_be_drawn_on():
    assert appearance_of(environ={}).theme == "dark"
    assert appearance_of(environ={"COLORFGBG": "0;15"}).theme == "light"
    assert appearance_of(environ={"NO_COLOR": "1"}).theme == "mono"
    assert appearance_of(environ={"LC_ALL": "C"}).ascii
    assert not appearance_of(environ={"LANG": "C.UTF-8"}).ascii


def test_times_of_day_are_said_as_people_say_them():
    look, clock = ascii_look(), VirtualClock("2026-11-25T14:02:00.000Z")
    then = clock.now()
    assert look.since(then, then) == "14:02"
    clock.wait(30 * 3_600_000)
    assert look.since(then, clock.now()) == "Wed 14:02"
    clock.wait(10 * 24 * 3_600_000)
    assert look.since(then, clock.now()) == "25 Nov 14:02"
