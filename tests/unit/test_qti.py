"""The question bank's exchange format: read back, held to its rules, scored as a reader would score it."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Sequence
from pathlib import Path
from xml.etree import ElementTree

import pytest
import xmlschema

from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.teach.bank import Question, bank
from lobewright.teach.language import Language
from lobewright.teach.qti import PACKAGE, QTI, package
from lobewright.teach.scene import Choice
from lobewright.teach.subject import subject

DATA = Path(__file__).parents[1] / "data"
QUESTIONS = (
    Question("ratio_1", "count", "The ratio <of all>", "How many? 1 < 2 & “so”", (
        Choice("−51 : 1", False, "One too many."), Choice("−50 : 1", True, "100 / 2 & done."), Choice("+50 : 1", False, "Way."),
    )),
    Question("stiff", "play", "Spiel & steif", "Was stimmt?", (Choice("A < B", True, "Weil."), Choice("B", False, "Nein."))),
)  # fmt: skip


@pytest.fixture(scope="module")
def files() -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(package(QUESTIONS, "Bank & more", Language("de")))) as packed:
        assert packed.testzip() is None
        return {name: packed.read(name) for name in packed.namelist()}


@pytest.fixture(scope="module")
def rules() -> xmlschema.XMLSchema:
    return xmlschema.XMLSchema(DATA / "qti_used.xsd", allow="local")


@pytest.fixture(scope="module")
def packages() -> xmlschema.XMLSchema:
    return xmlschema.XMLSchema(DATA / "content_package_used.xsd", allow="local")


def _faults(schema: xmlschema.XMLSchema, text: bytes) -> list[str]:
    return [str(fault.reason) for fault in schema.iter_errors(ElementTree.fromstring(text))]


def test_items_and_test_keep_the_rules_of_the_format(files, rules):
    for name, text in files.items():
        if name != "imsmanifest.xml":
            assert _faults(rules, text) == [], name


def test_the_manifest_keeps_the_rules_of_packages_and_names_every_file(files, packages):
    assert _faults(packages, files["imsmanifest.xml"]) == []
    manifest = ElementTree.fromstring(files["imsmanifest.xml"])
    named = {one.get("href") for one in manifest.iter(f"{{{PACKAGE}}}file")}
    assert named == set(files) - {"imsmanifest.xml"}
    types = {one.get("href"): one.get("type") for one in manifest.iter(f"{{{PACKAGE}}}resource")}
    assert types["bank.xml"] == "imsqti_test_xmlv2p1" and types["items/stiff.xml"] == "imsqti_item_xmlv2p1"


@pytest.mark.parametrize(
    ("name", "good", "slip"),
    [
        ("items/stiff.xml", b' timeDependent="false"', b""),
        ("items/stiff.xml", b'showHide="show"', b'showHide="maybe"'),
        ("items/stiff.xml", b"<itemBody>", b"<itemBody><correctResponse/>"),
        ("items/stiff.xml", b'responseIdentifier="RESPONSE"', b'responseIdentifier="NOBODY"'),
        ("items/stiff.xml", b'<simpleChoice identifier="A">', b"<simpleChoice>"),
        ("bank.xml", b"<sum>", b'<sum><variable identifier="SCORE"/>'),
        ("bank.xml", b'showFeedback="true"', b'showFeedback="yes"'),
    ],
)
def test_the_rules_refuse_what_breaks_them(files, rules, name, good, slip):
    assert good in files[name]
    assert _faults(rules, files[name].replace(good, slip))


@pytest.mark.parametrize(
    ("good", "slip"),
    [(b"QTIv2.1 Package", b"Package"), (b"<schemaversion>1.0.0", b"<schemaversion>2.1"), (b"item_xmlv2p1", b"item")],
)
def test_the_rules_of_packages_refuse_what_breaks_them(files, packages, good, slip):
    manifest = files["imsmanifest.xml"]
    assert good in manifest
    assert _faults(packages, manifest.replace(good, slip))


def test_a_test_shows_the_reasons_and_calls_each_item_by_its_own_name(files):
    test = ElementTree.fromstring(files["bank.xml"])
    assert test.find(f"{{{QTI}}}testPart/{{{QTI}}}itemSessionControl").get("showFeedback") == "true"
    for one in test.iter(f"{{{QTI}}}assessmentItemRef"):
        assert ElementTree.fromstring(files[one.get("href")]).get("identifier") == one.get("identifier")


def test_an_item_gives_a_point_for_the_right_choice_and_every_choice_its_reason(files):
    for question in QUESTIONS:
        item = ElementTree.fromstring(files[f"items/{question.name}.xml"])
        choices = {one.get("identifier"): one.text for one in item.iter(f"{{{QTI}}}simpleChoice")}
        right = item.find(f"{{{QTI}}}responseDeclaration/{{{QTI}}}correctResponse/{{{QTI}}}value").text
        assert choices[right] == question.right.words
        assert list(choices.values()) == [choice.words for choice in question.choices]
        reasons = {one.get("identifier"): one.text for one in item.iter(f"{{{QTI}}}modalFeedback")}
        assert {choices[key]: why for key, why in reasons.items()} == {one.words: one.why for one in question.choices}
        assert item.find(f"{{{QTI}}}itemBody/{{{QTI}}}p").text == question.text
        assert item.get("{http://www.w3.org/XML/1998/namespace}lang") == "de"


def _value(one: ElementTree.Element, known: dict[str, object], right: str, items: Sequence[float]) -> object:
    """What an expression of the format comes to."""
    match one.tag.removeprefix(f"{{{QTI}}}"):
        case "variable":
            return known[one.get("identifier")]
        case "correct":
            return right
        case "baseValue":
            return float(one.text)
        case "match":
            first, second = (_value(part, known, right, items) for part in one)
            return first is not None and first == second
        case "testVariables":
            assert one.get("variableIdentifier") == "SCORE"
            return items
        case "sum":
            return sum(sum(_value(part, known, right, items)) for part in one)
    raise AssertionError(one.tag)


def _run(
    rules: Iterable[ElementTree.Element], known: dict[str, object], right: str = "", items: Sequence[float] = ()
) -> None:
    for rule in rules:
        if rule.tag == f"{{{QTI}}}setOutcomeValue":
            known[rule.get("identifier")] = _value(rule[0], known, right, items)
            continue
        assert rule.tag == f"{{{QTI}}}responseCondition"
        when = rule.find(f"{{{QTI}}}responseIf")
        if _value(when[0], known, right, items):
            _run(list(when)[1:], known, right, items)
        else:
            _run(rule.find(f"{{{QTI}}}responseElse"), known, right, items)


def _points(item: ElementTree.Element, chosen: str | None) -> tuple[float, object]:
    """Points and feedback that an item gives for a choice, as whoever asks it finds them."""
    right = item.find(f"{{{QTI}}}responseDeclaration/{{{QTI}}}correctResponse/{{{QTI}}}value").text
    known: dict[str, object] = {"RESPONSE": chosen, "SCORE": 0.0}
    _run(item.find(f"{{{QTI}}}responseProcessing"), known, right)
    return known["SCORE"], known["FEEDBACK"]


def test_a_point_is_given_for_the_right_choice_alone_and_the_test_sums_them_up(files):
    scores = []
    for question in QUESTIONS:
        item = ElementTree.fromstring(files[f"items/{question.name}.xml"])
        for choice in item.iter(f"{{{QTI}}}simpleChoice"):
            chosen = choice.get("identifier")
            assert _points(item, chosen) == (float(choice.text == question.right.words), chosen)
        assert _points(item, None) == (0.0, None)
        scores.append(_points(item, item.find(f".//{{{QTI}}}correctResponse/{{{QTI}}}value").text)[0])
        assert item.find(f"{{{QTI}}}outcomeDeclaration[@identifier='SCORE']").get("normalMaximum") == "1"
    test = ElementTree.fromstring(files["bank.xml"])
    assert test.find(f"{{{QTI}}}outcomeDeclaration[@identifier='SCORE']").get("normalMaximum") == "2"
    for items in (scores, [1.0, 0.0], [0.0, 0.0]):
        known: dict[str, object] = {"SCORE": 0.0}
        _run(test.find(f"{{{QTI}}}outcomeProcessing"), known, items=items)
        assert known["SCORE"] == sum(items)


@pytest.mark.parametrize("code", ["en", "de"])
def test_the_bank_of_a_real_drive_keeps_the_rules_and_gives_its_points(rules, packages, code):
    questions = bank(subject(assess(design_from_data(starter_data("belt")))), Language(code))
    with zipfile.ZipFile(io.BytesIO(package(questions, "Bank", Language(code)))) as packed:
        assert _faults(rules, packed.read("bank.xml")) == []
        assert _faults(packages, packed.read("imsmanifest.xml")) == []
        for question in questions:
            text = packed.read(f"items/{question.name}.xml")
            assert _faults(rules, text) == [], question.name
            item = ElementTree.fromstring(text)
            for choice in item.iter(f"{{{QTI}}}simpleChoice"):
                assert _points(item, choice.get("identifier"))[0] == float(choice.text == question.right.words)


def test_the_same_questions_give_the_same_bytes_and_no_clock():
    first = package(QUESTIONS, "Bank", Language("en"))
    assert first == package(QUESTIONS, "Bank", Language("en"))
    with zipfile.ZipFile(io.BytesIO(first)) as packed:
        assert {entry.date_time for entry in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_names_of_files_and_items_are_fit_for_identifiers(files):
    assert all(re.fullmatch(r"items/[a-z][a-z0-9_]*\.xml", name) for name in files if name.startswith("items/"))
