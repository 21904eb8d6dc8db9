"""Signs in words: what a speech synthesiser leaves out or garbles."""

import subprocess

import pytest
from by_ear import SPEAKER

from benchrun.plain.spoken_words import spoken
from benchrun.quantity import UNITS


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("arm 1–3, lever-l/r", "arm 1 to 3, lever-l/r"),
        ("arm-1/3: 2 min", "arm-1/3: 2 minutes"),
        ("7 min 12 s", "7 minutes 12 seconds"),
        ("1 h 05 min", "1 hour 5 minutes"),
        ("3 d 4 h", "3 days 4 hours"),
        ("15 to 40 °C", "15 to 40 degrees C"),
        ("closed end 90°, in mm:", "closed end 90 degrees, in mm:"),
        ("20 µm over", "20 micrometres over"),
        ("90 N m, then 45 ft lb", "90 newton metres, then 45 foot pounds"),
        ("1 mg/m3 over a day", "1 mg per cubic metre over a day"),
        ("8.5 m²/l", "8.5 square metres per l"),
        ("207 kPa (30 psi)", "207 kilopascal (30 pounds per square inch)"),
        ("clip 1, in µm:", "clip 1, in micrometres:"),
        ("Enter: begin, - goes back:", "Enter: begin, minus goes back:"),
        ("? says all keys", "question mark says all keys"),
        ("! first aid.", "exclamation mark first aid."),
        ("N . does line N", "N dot does line N"),
        ("1 6 parts: step 3", "1: 6 parts: step 3"),
        ("1 DUE. clip 1: tend, due now", "1 Due. clip 1: tend, due now"),
        ("1:30 LEFT. clip 1", "1 minute 30 seconds left. clip 1"),
        ("take out, in 0:45", "take out, in 45 seconds"),
    ],
)
def test_a_sign_is_said_in_words(line, said):
    assert spoken(line) == said


@pytest.mark.parametrize(
    "line",
    [
        "lever 1 l/r",  # tags
        "arm 2 l",
        "2 in work",  # no inches
        "14 %, 2.004 mm, 60 ml",  # said well as they are
        "-0.02 mm",
        "Rust - light",  # a dash between words
        "30/70 mix",
        "14:15",
    ],
)
def test_what_is_no_sign_or_is_said_well_stays(line):
    assert spoken(line) == line


@pytest.mark.skipif(SPEAKER is None, reason="needs the speech synthesiser espeak-ng")
def test_no_sign_is_silent():
    """With the sign and without it sounds different, for every key and unit of a reading."""
    for with_it, without in [
        *((f"{key} goes back", "goes back") for key in "-+*=/.?!"),
        ("arm 1–3", "arm 1 3"),
        ("within ±0.02 mm", "within 0.02 mm"),
        *((f"4 {unit}", "4") for unit in UNITS if unit),
    ]:
        assert sound(spoken(with_it)) != sound(spoken(without)), with_it


def sound(words: str) -> str:
    done = subprocess.run(
        [SPEAKER, "-q", "-x", "--stdin"], input=words, capture_output=True, text=True, check=True
    )
    return done.stdout.strip()
