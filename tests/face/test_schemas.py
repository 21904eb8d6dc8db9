"""`benchrun schema FILE`: the program's files fit their schemas; what it would refuse does not."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from benchrun.cli.procedures import SCHEMAS

ROOT = Path(__file__).resolve().parents[2]
SHOP = ROOT / "samples" / "shop"
KINDS = {"object": dict, "array": list, "string": str, "boolean": bool, "null": type(None)}


def is_kind(value, kind):
    if kind == "integer":
        return type(value) is int
    return isinstance(value, KINDS[kind])


def fits(value, rule, whole):
    """Whether a value fits a rule, for the parts of JSON Schema that these schemas use."""
    if "$ref" in rule:
        return fits(value, whole["$defs"][rule["$ref"].removeprefix("#/$defs/")], whole)
    kinds = rule.get("type", [])
    kinds = [kinds] if isinstance(kinds, str) else kinds
    return (
        (not kinds or any(is_kind(value, kind) for kind in kinds))
        and ("const" not in rule or value == rule["const"])
        and ("enum" not in rule or value in rule["enum"])
        and ("anyOf" not in rule or any(fits(value, one, whole) for one in rule["anyOf"]))
        and ("oneOf" not in rule or sum(fits(value, one, whole) for one in rule["oneOf"]) == 1)
        and (not isinstance(value, str) or re.search(rule.get("pattern", ""), value) is not None)
        and (type(value) is not int or within(value, rule))
        and (not isinstance(value, list) or items_fit(value, rule, whole))
        and (not isinstance(value, dict) or keys_fit(value, rule, whole))
    )  # fmt: skip


def within(value, rule):
    return rule.get("minimum", value) <= value <= rule.get("maximum", value)


def items_fit(value, rule, whole):
    first = rule.get("prefixItems", [])
    more = rule.get("items", True)
    if len(value) < rule.get("minItems", 0) or (more is False and len(value) > len(first)):
        return False
    if first:
        return all(fits(one, inner, whole) for one, inner in zip(value, first, strict=False))
    return more is True or all(fits(one, more, whole) for one in value)


def keys_fit(value, rule, whole):
    known, more = rule.get("properties", {}), rule.get("additionalProperties", True)
    if not set(rule.get("required", ())) <= value.keys():
        return False
    strange = value.keys() - known.keys()
    if more is False and strange:
        return False
    if isinstance(more, dict) and not all(fits(value[key], more, whole) for key in strange):
        return False
    return all(fits(one, known[key], whole) for key, one in value.items() if key in known)


@pytest.fixture(scope="module")
def schema(tmp_path_factory):
    read = {}

    def of(file):
        if file not in read:
            words = [sys.executable, "-m", "benchrun", "schema", file]
            read[file] = json.loads(subprocess.run(words, capture_output=True, check=True).stdout)
        return read[file]

    return of


@pytest.mark.parametrize("file", SCHEMAS)
def test_each_schema_says_which_dialect_it_is_and_refers_to_nothing_that_is_not_there(schema, file):
    whole = schema(file)
    assert whole["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    refers = re.findall(r'"#/\$defs/([^"]+)"', json.dumps(whole))
    assert set(refers) <= set(whole.get("$defs", {}))


def log_lines():
    logs = sorted((SHOP / "runs").glob("*/log.jsonl"))
    vectors = json.loads((ROOT / "tests/record/vectors/vectors.json").read_text("utf-8"))["shop"]
    texts = [log.read_text("utf-8") for log in logs]
    texts += [row["text"] for name, row in vectors.items() if name.endswith("/log.jsonl")]
    return [json.loads(line) for text in texts for line in text.splitlines()]


def test_lines_of_logs_fit_their_schema(schema):
    whole, lines = schema("log"), log_lines()
    assert len({line["kind"] for line in lines}) > 8
    assert [line for line in lines if not fits(line, whole, whole)] == []


def test_the_examples_of_the_formats_page_fit_the_schema_of_lines(schema):
    page = (ROOT / "benchrun/record/FORMAT.md").read_text("utf-8")
    lines = [json.loads(text) for text in re.findall(r"```json\n(.*?)```", page, re.DOTALL)]
    assert len(lines) > 20
    assert [line["kind"] for line in lines if not fits(line, schema("log"), schema("log"))] == []


@pytest.mark.parametrize(
    "change",
    [
        lambda line: line.update(extra=1),
        lambda line: line.pop("prev"),
        lambda line: line.update(kind="dance"),
        lambda line: line["data"].update(strange=""),
        lambda line: line["data"].pop("step"),
        lambda line: line["data"].update(parts="arm"),
        lambda line: line["at"].update(utc="today"),
    ],
)
def test_a_line_that_the_code_would_refuse_does_not_fit(schema, change):
    line = next(line for line in log_lines() if line["kind"] == "do")
    assert fits(line, schema("log"), schema("log"))
    change(line)
    assert not fits(line, schema("log"), schema("log"))


def test_lines_of_registers_fit_their_schema(schema):
    vectors = json.loads((ROOT / "tests/record/vectors/vectors.json").read_text("utf-8"))["shop"]
    lines = vectors["register.jsonl"]["text"].splitlines()
    lines += (SHOP / "register.jsonl").read_text("utf-8").splitlines()
    whole, rows = schema("register"), [json.loads(line) for line in lines]
    assert {row["kind"] for row in rows} == {"opened", "marked", "closed", "keys", "people"}
    assert [row for row in rows if not fits(row, whole, whole)] == []
    rows[0]["data"]["strange"] = ""
    assert not fits(rows[0], whole, whole)


def test_a_report_fits_its_schema(schema, tmp_path):
    run = next((SHOP / "runs").glob("*hub-bearing*"))
    file = tmp_path / "report.json"
    words = [sys.executable, "-m", "benchrun", "report", str(run), "--to", str(file)]
    subprocess.run(words, capture_output=True, check=True)
    whole, report = schema("report"), json.loads(file.read_text("utf-8"))
    assert fits(report, whole, whole)
    report["runs"][0]["readings"][0]["value"] = 25.01
    assert not fits(report, whole, whole)


@pytest.mark.parametrize("book", [name for name in SCHEMAS if (SHOP / f"{name}.yaml").is_file()])
def test_the_books_of_the_sample_shop_fit_their_schema(schema, book):
    from ruamel.yaml import YAML

    rows = YAML(typ="safe", pure=True).load((SHOP / f"{book}.yaml").read_text("utf-8"))
    assert fits(rows, schema(book), schema(book))
    assert not fits({**rows, "strange": []}, schema(book), schema(book))
