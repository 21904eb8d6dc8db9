"""No advice on good sentences; on bad ones the one advice that each must bring."""

import re
from pathlib import Path

import pytest

from benchrun.procedure.load import load
from benchrun.procedure.sentences import sentence_advice
from benchrun.procedure.verbs import VerbList, not_listed, shipped_verbs
from benchrun.procedure.words import commands
from benchrun.shop.folder import shipped

HERE = Path(__file__).parent
SAID = {
    "a second action": "a second action",
    "a condition after the command": "comes after the command",
    "and with or": "are mixed",
    "a step by its number": "sends the reader",
    "no verb first": "begin with what to do",
    "a verb that is not in the list": "is not in the list of verbs",
    "no comma behind the condition": "no comma parts",
    "more than twenty words": "words: at most 20",
}
CAUTIONS = {
    "Acid burns skin.": False,
    "A cracked drum is never welded.": False,
    "Force against the thread tightens what should come loose.": False,
    "The finger may have to be taken off.": False,
    "Paint stripper burns. Its vapour makes dizzy.": False,
    "Hot metal looks cold.": False,
    "You must wear gloves.": True,
    "Gloves must be worn.": True,
    "Acid burns. Wear gloves.": True,
    "Acid burns. Rinse the skin at once.": True,
    "Never look into the arc.": True,
    "Do not breathe the vapour.": True,
    "The guard has to be shut.": True,
    "Hands should stay clear.": True,
    "Make sure nobody stands below.": True,
    "If it splashes, rinse the eye.": True,
    "Goggles are to be worn.": True,
    "Press the stop button.": True,
    "Springs fly. Please keep clear.": True,
}


def good():
    return (HERE / "sentences_good.txt").read_text("utf-8").splitlines()


def bad():
    """Each bad sentence with the words of the one advice on it."""
    said = ""
    for line in (HERE / "sentences_bad.txt").read_text("utf-8").splitlines():
        if line.startswith("## "):
            said = SAID[line.removeprefix("## ")]
        else:
            yield line, said


def advice(text):
    return list(sentence_advice(text, VerbList()))


def test_there_are_three_hundred_of_each_and_none_twice():
    bad_ones = [text for text, _ in bad()]
    assert len(good()) >= len(set(good())) >= 300
    assert len(bad_ones) == len(set(bad_ones)) >= 300


def test_a_good_sentence_brings_no_advice():
    assert {text: advice(text) for text in good() if advice(text)} == {}


def test_a_bad_sentence_brings_the_one_advice_that_it_needs():
    wrong = {
        text: advice(text)
        for text, said in bad()
        if len(advice(text)) != 1 or said not in advice(text)[0]
    }
    assert wrong == {}


def test_the_sentences_of_the_shipped_procedures_bring_no_advice():
    files = sorted(shipped("procedures").glob("*.yaml"))
    steps = [one for file in files for one in load(file).route.steps.values()]
    texts = {one.text for one in steps if one.id != "tools-counted"}
    assert len(texts) > 1000
    assert {text: advice(text) for text in texts if advice(text)} == {}


@pytest.mark.parametrize(("text", "orders"), CAUTIONS.items())
def test_a_caution_tells_and_orders_nothing(text, orders):
    assert commands(text, VerbList()) is orders


def test_a_verb_of_the_shop_is_as_good_as_one_of_the_list():
    text = "Burnish the sleeve with the roller."
    assert ["'Burnish' is not in the list of verbs" in one for one in advice(text)] == [True]
    assert list(sentence_advice(text, VerbList(["burnish"]))) == []


def test_a_verb_has_one_meaning_and_another_name_leads_to_it():
    verbs = shipped_verbs()
    assert [word for word in not_listed() if word in verbs] == []
    assert [say for say in not_listed().values() if say and say not in verbs] == []
    assert [verb.word for verb in verbs.values() if re.search(r"\bor\b|;", verb.meaning)] == []
