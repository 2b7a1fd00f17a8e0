"""The question bank's exchange format: read back, held to its rules, scored as a reader would score it."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import pytest
import xmlschema

from lobewright.teach.bank import Question
from lobewright.teach.language import Language
from lobewright.teach.qti import PACKAGE, QTI, package
from lobewright.teach.scene import Choice

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


def _faults(schema: xmlschema.XMLSchema, text: bytes) -> list[str]:
    return [str(fault.reason) for fault in schema.iter_errors(ElementTree.fromstring(text))]


def test_items_and_test_keep_the_rules_of_the_format(files, rules):
    for name, text in files.items():
        if name != "imsmanifest.xml":
            assert _faults(rules, text) == [], name


def test_the_manifest_keeps_the_rules_of_packages_and_names_every_file(files):
    schema = xmlschema.XMLSchema(DATA / "content_package_used.xsd", allow="local")
    assert _faults(schema, files["imsmanifest.xml"]) == []
    manifest = ElementTree.fromstring(files["imsmanifest.xml"])
    named = {one.get("href") for one in manifest.iter(f"{{{PACKAGE}}}file")}
    assert named == set(files) - {"imsmanifest.xml"}
    types = {one.get("href"): one.get("type") for one in manifest.iter(f"{{{PACKAGE}}}resource")}
    assert types["bank.xml"] == "imsqti_test_xmlv2p1" and types["items/stiff.xml"] == "imsqti_item_xmlv2p1"


@pytest.mark.parametrize(
    "slip",
    [
        (b' timeDependent="false"', b""),
        (b'showHide="show"', b'showHide="maybe"'),
        (b"<itemBody>", b"<itemBody><correctResponse/>"),
        (b'responseIdentifier="RESPONSE"', b'responseIdentifier="NOBODY"'),
        (b'<simpleChoice identifier="A">', b"<simpleChoice>"),
    ],
)
def test_the_rules_refuse_what_breaks_them(files, rules, slip):
    text = files["items/stiff.xml"]
    assert slip[0] in text
    assert _faults(rules, text.replace(*slip))


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


def test_the_same_questions_give_the_same_bytes_and_no_clock():
    first = package(QUESTIONS, "Bank", Language("en"))
    assert first == package(QUESTIONS, "Bank", Language("en"))
    with zipfile.ZipFile(io.BytesIO(first)) as packed:
        assert {entry.date_time for entry in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_names_of_files_and_items_are_fit_for_identifiers(files):
    assert all(re.fullmatch(r"items/[a-z][a-z0-9_]*\.xml", name) for name in files if name.startswith("items/"))
