"""The question bank in the open exchange format QTI 2.1 (Question and Test Interoperability), as a content package.

One file an item with feedback to every choice, one test that asks all items in order, and the manifest that names them.
Source: IMS Global, Question and Test Interoperability 2.1 (2012), its schema; the profile of Content Packaging 1.2 that belongs
to it (2014).
The zip holds no clock: the same questions give the same bytes.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from lobewright import __version__
from lobewright.teach.bank import LETTERS, Question
from lobewright.teach.language import Language

QTI = "http://www.imsglobal.org/xsd/imsqti_v2p1"
QTI_SCHEMA = "http://www.imsglobal.org/xsd/qti/qtiv2p1/imsqti_v2p1.xsd"
PACKAGE = "http://www.imsglobal.org/xsd/imscp_v1p1"
PACKAGE_SCHEMA = "http://www.imsglobal.org/xsd/qti/qtiv2p1/qtiv2p1_imscpv1p2_v1p0.xsd"
SCHEMA_INSTANCE = "http://www.w3.org/2001/XMLSchema-instance"
ITEM_TYPE, TEST_TYPE = "imsqti_item_xmlv2p1", "imsqti_test_xmlv2p1"
FIRST_DAY = (1980, 1, 1, 0, 0, 0)
"""Date of files in the zip: the first that the format can write."""
HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'


def _root(name: str, attributes: str) -> str:
    place = f'xmlns="{QTI}" xmlns:xsi="{SCHEMA_INSTANCE}" xsi:schemaLocation="{QTI} {QTI_SCHEMA}"'
    return f'{HEAD}<{name} {place} {attributes} toolName="Lobewright" toolVersion={quoteattr(__version__)}'


def _score(most: int) -> str:
    """The declaration of points, from 0 to ``most``."""
    return (
        f'  <outcomeDeclaration identifier="SCORE" cardinality="single" baseType="float" normalMaximum="{most}">\n'
        "    <defaultValue><value>0</value></defaultValue>\n"
        "  </outcomeDeclaration>\n"
    )


def item_xml(one: Question, language: Language) -> str:
    """One question: choices shuffled by whoever asks, 1 point for the right one, the reason of the one chosen as feedback."""
    letters = LETTERS[: len(one.choices)]
    right = letters[one.right_place]
    head = f'identifier={quoteattr(one.name)} title={quoteattr(one.title)} xml:lang="{language.code}"'
    choices = "".join(
        f'      <simpleChoice identifier="{letter}">{escape(choice.words)}</simpleChoice>\n'
        for letter, choice in zip(letters, one.choices, strict=True)
    )
    shown = 'outcomeIdentifier="FEEDBACK" showHide="show"'
    feedback = "".join(
        f'  <modalFeedback {shown} identifier="{letter}">{escape(choice.why)}</modalFeedback>\n'
        for letter, choice in zip(letters, one.choices, strict=True)
    )
    return (
        f'{_root("assessmentItem", head)} adaptive="false" timeDependent="false">\n'
        '  <responseDeclaration identifier="RESPONSE" cardinality="single" baseType="identifier">\n'
        f"    <correctResponse><value>{right}</value></correctResponse>\n"
        "  </responseDeclaration>\n"
        f"{_score(1)}"
        '  <outcomeDeclaration identifier="FEEDBACK" cardinality="single" baseType="identifier"/>\n'
        "  <itemBody>\n"
        f"    <p>{escape(one.text)}</p>\n"
        '    <choiceInteraction responseIdentifier="RESPONSE" shuffle="true" maxChoices="1">\n'
        f"{choices}"
        "    </choiceInteraction>\n"
        "  </itemBody>\n"
        "  <responseProcessing>\n"
        "    <responseCondition>\n"
        "      <responseIf>\n"
        '        <match><variable identifier="RESPONSE"/><correct identifier="RESPONSE"/></match>\n'
        '        <setOutcomeValue identifier="SCORE"><baseValue baseType="float">1</baseValue></setOutcomeValue>\n'
        "      </responseIf>\n"
        "      <responseElse>\n"
        '        <setOutcomeValue identifier="SCORE"><baseValue baseType="float">0</baseValue></setOutcomeValue>\n'
        "      </responseElse>\n"
        "    </responseCondition>\n"
        '    <setOutcomeValue identifier="FEEDBACK"><variable identifier="RESPONSE"/></setOutcomeValue>\n'
        "  </responseProcessing>\n"
        f"{feedback}"
        "</assessmentItem>\n"
    )


def _file(one: Question) -> str:
    return f"items/{one.name}.xml"


def whole_test_xml(questions: Sequence[Question], title: str) -> str:
    """A test that asks all items once, in their order, may be gone through freely, and sums up their points.

    It says that reasons are shown: a test that is silent about it hides them.
    """
    refs = "".join(f'      <assessmentItemRef identifier="{one.name}" href="{_file(one)}"/>\n' for one in questions)
    head = f'identifier="bank" title={quoteattr(title)}'
    return (
        f"{_root('assessmentTest', head)}>\n"
        f"{_score(len(questions))}"
        '  <testPart identifier="part" navigationMode="nonlinear" submissionMode="individual">\n'
        '    <itemSessionControl showFeedback="true"/>\n'
        f'    <assessmentSection identifier="section" title={quoteattr(title)} visible="true">\n'
        f"{refs}"
        "    </assessmentSection>\n"
        "  </testPart>\n"
        "  <outcomeProcessing>\n"
        '    <setOutcomeValue identifier="SCORE"><sum><testVariables variableIdentifier="SCORE"/></sum></setOutcomeValue>\n'
        "  </outcomeProcessing>\n"
        "</assessmentTest>\n"
    )


def manifest_xml(questions: Sequence[Question]) -> str:
    """What lies in the package."""
    needed = "".join(f'      <dependency identifierref="res_{one.name}"/>\n' for one in questions)
    items = "".join(
        f'    <resource identifier="res_{one.name}" type="{ITEM_TYPE}" href="{_file(one)}">\n'
        f'      <file href="{_file(one)}"/>\n'
        "    </resource>\n"
        for one in questions
    )
    return (
        f'{HEAD}<manifest xmlns="{PACKAGE}" xmlns:xsi="{SCHEMA_INSTANCE}" '
        f'xsi:schemaLocation="{PACKAGE} {PACKAGE_SCHEMA}" identifier="lobewright_bank">\n'
        "  <metadata>\n    <schema>QTIv2.1 Package</schema>\n    <schemaversion>1.0.0</schemaversion>\n  </metadata>\n"
        "  <organizations/>\n"
        "  <resources>\n"
        f'    <resource identifier="res_bank" type="{TEST_TYPE}" href="bank.xml">\n'
        '      <file href="bank.xml"/>\n'
        f"{needed}"
        "    </resource>\n"
        f"{items}"
        "  </resources>\n"
        "</manifest>\n"
    )


def package(questions: Sequence[Question], title: str, language: Language) -> bytes:
    """The whole package as a zip file."""
    files = {"imsmanifest.xml": manifest_xml(questions), "bank.xml": whole_test_xml(questions, title)}
    files |= {_file(one): item_xml(one, language) for one in questions}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, text in files.items():
            entry = zipfile.ZipInfo(name, FIRST_DAY)
            entry.compress_type = zipfile.ZIP_DEFLATED
            packed.writestr(entry, text.encode("utf-8"))
    return out.getvalue()
