"""All papers of a lesson: for the class and for the teacher, as text or bytes by the place where they belong."""

from __future__ import annotations

import datetime
import re
import unicodedata
from collections.abc import Callable, Sequence
from functools import partial

from lobewright.assessment.results import Assessment
from lobewright.errors import DesignFault, Fault, FileFault
from lobewright.make.rack_paper import PAPERS, paper_sheet
from lobewright.picture.pdf import Page, pdf
from lobewright.teach import handout, plan, shot_list
from lobewright.teach.bank import bank, bank_text
from lobewright.teach.card import card_words
from lobewright.teach.cautions import cautions
from lobewright.teach.document import markdown
from lobewright.teach.language import Language
from lobewright.teach.qti import package
from lobewright.teach.scene import Scene
from lobewright.teach.sheet import sheet_pdf
from lobewright.teach.subject import Subject
from lobewright.teach.variants import Variant, class_variant, variant

CLASS, TEACHER = "paper", "teacher"
"""Folders: what everybody may have, and what holds answers or names."""
MOST_STUDENTS = 200
LONGEST_NAME = 60


def safe_name(student: str) -> str:
    """A name as part of a file's name: small letters, figures and underscores; empty where nothing is left."""
    plain = unicodedata.normalize("NFKD", student.strip().casefold().replace("ß", "ss"))
    return re.sub(r"[^a-z0-9]+", "_", "".join(one for one in plain if not unicodedata.combining(one))).strip("_")


def file_names(students: Sequence[str]) -> dict[str, str]:
    """The part of file names for every student; numbered where two would be alike or nothing is left.

    Raises FileFault for too many students, for one without a name, too long a name, or two of one name.
    """
    faults = []
    if len(students) > MOST_STUDENTS:
        faults.append(Fault("too many students", "students", 0, str(len(students)), f"{MOST_STUDENTS} or fewer"))
    seen: set[str] = set()
    for name in students:
        key = name.strip().casefold()
        if not key or len(name) > LONGEST_NAME or not name.isprintable() or key in seen:
            allowed = f"a name of 1 to {LONGEST_NAME} printable letters, each once"
            faults.append(Fault("this name cannot be given to a sheet", "students", 0, repr(name), allowed))
        seen.add(key)
    if faults:
        raise FileFault(faults)
    found: dict[str, str] = {}
    for number, name in enumerate(students, 1):
        file = safe_name(name)
        found[name] = f"{file}_{number}" if not file or file in found.values() else file
    return found


def _for_students(
    found: Assessment, students: Sequence[str], sheet: Callable[[Variant], bytes], answers: Callable[[Variant], bytes]
) -> dict[str, str | bytes]:
    files: dict[str, str | bytes] = {}
    for student, name in file_names(students).items():
        own = variant(found, student)
        files[f"{TEACHER}/handouts/{name}.pdf"] = sheet(own)
        files[f"{TEACHER}/answers/{name}.pdf"] = answers(own)
    return files


def _rack_card(subject: Subject, language: Language) -> dict[str, str | bytes]:
    """The card model; not every drive has one, the plan then says why."""
    try:
        picture = paper_sheet(subject.found, PAPERS[0], card_words(language))
    except DesignFault:
        return {}
    return {f"{CLASS}/rack_card_a4.pdf": pdf([Page(picture, PAPERS[0].width_mm, PAPERS[0].height_mm)])}


def papers(
    subject: Subject,
    language: Language,
    scenes: Sequence[Scene] = (),
    students: Sequence[str] = (),
    day: datetime.date | None = None,
    groups: int = 4,
    today: datetime.date | None = None,
    title: str = "",
    texts: int = 0,
) -> dict[str, str | bytes]:
    """Every paper by its path. ``scenes`` in the order of the lesson; one sheet of its own for each of ``students``; days before
    ``today`` are told to be past; ``title`` of the lesson and how many ``texts`` of its own it has, where it has them.

    Hand-out, rack card (class); answers, students' sheets, question bank as text and for exchange, shot list, lesson plan
    (teacher). Raises FileFault for names that no sheet can have, PlatformFault without the PDF library.
    """
    found, design = subject.found, subject.found.design.name
    own, questions = class_variant(subject.found), bank(subject, language)
    asked = plan.Asked(plan.When(day, today), groups, len(students), title, texts)
    lesson = plan.plan(subject, scenes, language, asked)
    shots = shot_list.shot_list(scenes, design, cautions(found, language), language, title)
    care, wrong = handout.usual_cautions(found, language), handout.wrong_lines(scenes)
    about = handout.ClassSheet(design, language, title, care, wrong)
    sheet = partial(handout.handout_pdf, stills=handout.figures(scenes), about=about)
    answers = partial(handout.answers_pdf, about=about)
    return {
        f"{CLASS}/handout.pdf": sheet(own),
        **_rack_card(subject, language),
        f"{TEACHER}/answers.pdf": answers(own),
        **_for_students(found, students, sheet, answers),
        f"{TEACHER}/questions.md": bank_text(questions, design, language),
        f"{TEACHER}/questions_qti.zip": package(questions, design, language),
        f"{TEACHER}/shot_list.md": markdown(shots),
        f"{TEACHER}/plan.pdf": sheet_pdf(lesson, plan.title(asked, language), design),
        f"{TEACHER}/plan.md": markdown(lesson),
    }
