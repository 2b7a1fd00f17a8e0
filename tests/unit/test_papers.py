"""Papers of a lesson: laid out inside the sheet, complete in both languages, dated right."""

from __future__ import annotations

import datetime
import io
import re
import time
import zipfile
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest
from pypdf import PdfReader

from lobewright.assessment.run import assess
from lobewright.design import model as m
from lobewright.design.files import design_from_data, read
from lobewright.design.starters import starter_data
from lobewright.errors import FileFault
from lobewright.make.rack_paper import PAPERS, paper_racks
from lobewright.motion import FLEXIBLE
from lobewright.picture.display import Anchor, Group, Picture, Placement, Text
from lobewright.picture.fitted import fitted
from lobewright.picture.lettering import lettered
from lobewright.picture.palette import Role
from lobewright.picture.pdf import PX_MM, text_width_px
from lobewright.picture.score import Moment, Reading, Said, Score, Words, figure, plain
from lobewright.teach import cautions, course, handout, plan, sheet
from lobewright.teach.bank import bank
from lobewright.teach.document import Bullets, Figure, Heading, Kept, NewPage, Para, Room, Table, markdown
from lobewright.teach.exercises import exercises
from lobewright.teach.handout import ClassSheet
from lobewright.teach.language import Language
from lobewright.teach.numbers import quotient
from lobewright.teach.papers import file_names, papers
from lobewright.teach.printing_days import SERVICE, Piece, Prints, days_to_print, prints, school_days_before
from lobewright.teach.scene import Scene, Take
from lobewright.teach.scenes import SCENES
from lobewright.teach.shot_list import shot_list
from lobewright.teach.subject import Subject, subject
from lobewright.teach.variants import class_variant
from lobewright.teach.writing_room import shared_out

MOST_SECONDS = 5.0
"""A hand-out is there in less."""
SCORE = Score(
    (0.0, 0.0, 16.0, 9.0),
    tuple(
        plain(
            Text((14.0, 8.0), "words that would run over the edge", 13.0),
            Text((1.0, 4.0), "words that would begin outside", 13.0, anchor=Anchor.END),
        )
    ),
    "invented",
    "an invented picture",
    10.0,
    {},
    readings=(Reading("a", "angle", Words("7°")),),
    said=(Said(0.0, "Look."), Said(0.5, "It turns.")),
)
SCENE = Scene("count", "Counting", ("Look first.",), (Take("one", "One turn", SCORE),), ("Teeth.",), ("It would jam.",))
ALL = tuple(replace(SCENE, name=name) for name in SCENES)


@cache
def belt() -> Subject:
    return subject(assess(design_from_data(starter_data("belt"))))


def _words(data: bytes) -> str:
    """Text of a PDF with its lines joined."""
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(data)).pages)


@pytest.fixture(scope="module", autouse=True)
def printing_times_once():
    """The program finds them, once for each design."""
    known: dict[str, Prints] = {}

    def found_once(found):
        if found.design_hash not in known:
            known[found.design_hash] = prints(found)
        return known[found.design_hash]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plan, "prints", found_once)
        yield


@pytest.fixture(scope="module")
def made() -> dict[str, str | bytes]:
    return papers(belt(), Language("en"), ALL, ("Anna", "Jürgen Groß"), datetime.date(2026, 12, 14))


def test_every_paper_is_there_and_what_holds_answers_is_the_teachers(made):
    assert set(made) == {
        "paper/handout.pdf", "paper/rack_card_a4.pdf", "teacher/answers.pdf", "teacher/questions.md",
        "teacher/questions_qti.zip", "teacher/shot_list.md", "teacher/plan.pdf", "teacher/plan.md",
        "teacher/handouts/anna.pdf", "teacher/handouts/jurgen_gross.pdf", "teacher/answers/anna.pdf",
        "teacher/answers/jurgen_gross.pdf",
    }  # fmt: skip
    with zipfile.ZipFile(io.BytesIO(made["teacher/questions_qti.zip"])) as packed:
        assert len(packed.namelist()) > 40


def test_the_handout_asks_all_questions_and_tells_no_answer(made):
    asked, told = _words(made["paper/handout.pdf"]), _words(made["teacher/answers.pdf"])
    for one in exercises(class_variant(belt().found), Language("en")):
        assert one.question in asked
        steps = [" ".join(step.split()) for step in one.steps]  # gaps in long numbers are read as spaces
        assert all(step in told for step in steps)
        assert not any(step in asked for step in steps)
        assert " ".join(f"Answer: {one.answer.words(Language('en'))}".split()) in told
    assert "Counting" in asked and "angle 7°" not in asked  # the figure's caption tells no reading
    assert "Sheet of Jürgen Groß" in _words(made["teacher/handouts/jurgen_gross.pdf"])


def test_the_handout_has_no_picture_whose_dials_answer_its_questions():
    assert set(handout.figures((SCENE, replace(SCENE, name="members")))) == {"count"}


def test_bars_and_curves_too_small_to_read_are_left_out_on_paper():
    low, high = plain(Text((1.0, 1.0), "a bar of 3 µm", 13.0), Text((1.0, 8.0), "the drive", 13.0))
    score = replace(SCORE, items=(low, high))
    scenes = [replace(SCENE, name=name, takes=(Take("one", "One", score),)) for name in ("torque", "play", "count")]
    found = handout.figures(scenes)
    shown = {name: ([item.text for item in one.picture.items], one.picture.view) for name, one in found.items()}
    assert shown["count"] == (["a bar of 3 µm", "the drive"], (0.0, 0.0, 16.0, 9.0))
    assert shown["torque"][0] == shown["play"][0] == ["the drive"]
    assert shown["torque"][1] == (0.0, pytest.approx(0.48 * 9.0), 16.0, 9.0) and shown["play"][1][2] == pytest.approx(
        0.49 * 16.0
    )
    # letters of what remains are no smaller than 5.4 points
    assert 13.0 * max(sheet.FIGURE_MM / PX_MM / sheet.FILM_PX, sheet.LEAST_PX) * 0.75 > 5.4


def test_a_handout_takes_less_than_five_seconds():
    stills, own = handout.figures((SCENE,)), class_variant(belt().found)
    care = handout.usual_cautions(belt().found, Language("de"))
    begin = time.process_time()
    handout.handout_pdf(own, stills, ClassSheet("belt", Language("de"), cautions=care))
    assert time.process_time() - begin < MOST_SECONDS


@pytest.mark.parametrize("code", ["en", "de"])
def test_no_line_runs_over_the_margins(code):
    language, own = Language(code), class_variant(belt().found)
    about = ClassSheet("belt", language, cautions=handout.usual_cautions(belt().found, language))
    papers_of = (
        handout.handout(own, {}, about),
        handout.answers(own, about),
        plan.plan(belt(), ALL, language),
    )
    for blocks in papers_of:
        for page in sheet.sheets(blocks, "title", "foot"):
            texts = [item for item in page.picture.items if isinstance(item, Text)]
            assert len(texts) > 5
            for text in texts:
                end = text.at[0] + text_width_px(text.text, text.size_px, text.strong) * PX_MM
                assert text.at[0] >= sheet.LEFT_MM - 0.1 and end <= sheet.WIDTH_MM - sheet.RIGHT_MM + 0.1, text.text
                assert 5.0 < text.at[1] < sheet.HEIGHT_MM - 10.0


def test_what_belongs_together_stays_on_one_page_and_long_words_are_cut():
    task = Kept((Heading("task", 3), Para("ask"), Room(3, "Answer:")))
    pages = sheet.sheets([task] * 12 + [NewPage(), Para("W" * 200)], "t", "f")
    counts = [
        sum(isinstance(item, Text) and item.text in ("task", "Answer:") for item in page.picture.items)
        for page in pages
    ]
    assert sum(counts) == 24 and all(count % 2 == 0 for count in counts) and len(pages) >= 3
    assert "".join(sheet.broken("W" * 200, 50.0)) == "W" * 200 and len(sheet.broken("W" * 200, 50.0)) > 3
    wide = text_width_px("takes 12", sheet.BODY_PX) * PX_MM + 1.0
    assert sheet.broken("takes 12 mm of it", wide)[:2] == ("takes", "12 mm")  # a number stays with its unit


def test_a_table_that_goes_on_has_its_heads_again_and_no_row_of_it_stands_alone():
    for rows in range(20, 60):
        table = Table(("first head", "b"), tuple((f"row {k}", "x") for k in range(rows)), (1.0, 1.0))
        pages = sheet.sheets([table], "t", "f")
        for page in pages:
            words = [item.text for item in page.picture.items if isinstance(item, Text)]
            assert words[0] == "first head" and sum(word.startswith("row") for word in words) >= 2, rows
        told = [item.text for page in pages for item in page.picture.items if isinstance(item, Text)]
        assert [word for word in told if word.startswith("row")] == [f"row {k}" for k in range(rows)]


def test_the_wedge_on_paper_does_not_tell_the_forces_that_are_asked_for():
    score = replace(
        SCORE, items=tuple(plain(Group((Text((1.0, 8.0), "load 50.0 N", 13.0), Text((1.0, 7.0), "no N", 13.0)))))
    )
    figure = handout.still(replace(SCENE, name="wedge", takes=(Take("free", "Free", score),)))
    assert [text.text for text in figure.picture.items[0].items] == ["load", "no N"]
    assert figure.picture.view[1] > 2.0  # and no bars, which lie below


def test_play_on_paper_is_shown_without_torque_and_without_a_key_to_forces():
    for code in ("en", "de"):
        key = Language(code).say("torque", "key_arrows")
        score = replace(
            SCORE,
            items=plain(Text((1.0, 8.0), key, 13.0), Text((2.0, 7.0), "ring", 13.0)),
            moments=(Moment("middle", 0.0, "no torque"), Moment("half", 0.5, "pushed")),
        )
        figure = handout.still(replace(SCENE, name="play", takes=(Take("new", "New", score),)))
        assert [text.text for text in figure.picture.items] == ["", "ring"] and figure.caption.endswith("no torque")


def test_a_figure_keeps_its_words_inside():
    figure = Figure(lettered(SCORE).at(0.0), "caption")
    page = sheet.sheets([Kept((Para("text"),), figure)], "t", "f")[0]
    groups = [item for item in page.picture.items if isinstance(item, Group)]
    texts = [item for item in groups[0].items[0].items if isinstance(item, Text)]
    x0, _, x1, _ = groups[0].clip
    for text, share in zip(texts, (0.0, 1.0), strict=True):
        wide = text_width_px(text.text, text.size(PX_MM))
        start = groups[0].items[0].placements[0].x + text.at[0] - share * wide
        assert x0 - 0.1 <= start and start + wide <= x1 + 0.1


def test_a_picture_is_set_into_a_place_with_all_that_is_in_it():
    inner = Group(
        (Text((1.0, 1.0), "a", 10.0, Role.INK, Anchor.MIDDLE, largest=3.0),),
        (Placement(2.0, 3.0, 0.5),),
        clip=(0.0, 0.0, 4.0, 4.0),
    )
    group, high = fitted(Picture((-2.0, 0.0, 8.0, 5.0), (inner,), "", ""), 100.0, 50.0, 20.0, 0.5)
    assert high == 10.0 and group.clip == (100.0, 40.0, 120.0, 50.0)
    outer = group.items[0]
    assert (outer.placements[0].x, outer.placements[0].y) == (104.0, 40.0)
    moved = outer.items[0]
    assert moved.placements[0] == Placement(4.0, 6.0, 0.5) and moved.clip == (0.0, 0.0, 8.0, 8.0)
    assert moved.items[0].at == (2.0, 2.0) and moved.items[0].size_px == 5.0
    assert moved.items[0].largest == 6.0


def test_printing_begins_early_enough():
    monday = datetime.date(2026, 12, 14)
    assert school_days_before(monday, 1) == datetime.date(2026, 12, 11)  # a Friday
    assert school_days_before(monday, 6) == datetime.date(2026, 12, 4)
    assert days_to_print(0.0) == 0 and days_to_print(7 * 60) == 3 and days_to_print(7 * 60 + 1) == 4


def test_the_plan_fills_a_double_lesson_and_names_date_parts_and_cautions(made):
    assert sum(minutes for _, minutes in course.STEPS) == 90
    text = made["teacher/plan.md"]
    assert "Lesson on 2026-12-14" in text and "rack/print/strip.stl" in text and "85–90" in text
    assert all(line in text for line in belt().found.cautions)
    assert "It would jam." in text  # what would go wrong with the design is said
    undated = markdown(plan.plan(belt(), ALL, Language("de")))
    assert "Schultage vorher" in undated and "Noch kein Termin" in undated


def test_the_plan_names_scenes_as_the_page_does_and_says_what_goes_wrong_once():
    others = [
        replace(SCENE, name=name, wrong=wrong)
        for name, wrong in (("racks", ("It jams.",)), ("wedge", ()), ("count", ("It jams.",)))
    ]
    for code, words in (("en", "(Scenes of the page: 1, 3.)"), ("de", "(Szenen der Seite: 1, 3.)")):
        language = Language(code)
        text = markdown(plan.plan(belt(), others, language))
        assert text.count("It jams.") == 1 and f"**It jams. {words}**" in text
        for name, number in (("racks", " (1)"), ("wedge", " (2)"), ("count", " (3)")):
            title = language.say(name, "title")
            assert any(f"{mark}{number}" in text for mark in (f"“{title}”", f"„{title}“")), name
        assert not re.search(r"[„“](racks|wedge|rolled|count|members|kinds|torque|stress|fit|play)[“”]", text)
        assert language.say("play", "title") not in text and "60" in text  # a step without its scene is left out
        assert language.say(plan.PART, "hours_each") in text  # the pieces' hours are of one piece


def test_the_plan_counts_groups_by_its_students_and_says_which_days_are_past():
    def told(students, groups=4, today=None):
        when = plan.When(datetime.date(2026, 12, 14), today)
        return markdown(plan.plan(belt(), ALL, Language("en"), plan.Asked(when, groups, students)))

    assert "4 groups of three or four, for a class of 12 to 16, with" in told(0) and "groups = 8" in told(0)
    for students, groups, words in (
        (2, 4, "One group of 2 with"),
        (3, 2, "One group of 3 with"),
        (1, 2, "Worked alone:"),
        (14, 4, "Groups: 4, of 3–4 each"),
    ):
        assert words in told(students, groups) and "three or four" not in told(students, groups)
    assert "One group of three or four" in told(0, 1) and "1 groups" not in told(0, 1)
    assert "one for every group (1)" in told(2)
    fewer = "There are no more groups than that: with 3 students, 2 groups would leave somebody alone."
    assert fewer in told(3, 2) and "somebody alone" not in told(4, 2) + told(0, 2)
    assert "asked for" not in told(3, 4)  # the usual number is nobody's wish
    for groups, ways in ((1, 3), (2, 4)):
        way = [
            line.split(" | ")[0] for line in told(0, groups).split("| begin on |")[1].split("\n\n")[0].splitlines()[2:]
        ]
        assert len(set(way)) == len(way) == ways
    assert "past" not in told(0, today=datetime.date(2026, 11, 1))
    late = told(0, today=datetime.date(2026, 12, 11))
    assert "by 2026-11-30 (already past)" in late and late.count("(already past)") == 4
    assert "2026-12-14 (already" not in late


def test_a_chosen_lesson_has_only_its_own_steps_and_is_called_by_its_title():
    chosen = tuple(one for name in ("count", "racks") for one in ALL if one.name == name)
    own = papers(belt(), Language("en"), chosen, ("Bo",), title="Why a turn is none", texts=2)
    text = own["teacher/plan.md"]
    assert text.startswith("# Lesson plan: Why a turn is none\n") and "Course of the lesson, 60 minutes" in text
    assert "(60 minutes are planned)" in text and "Texts of your own on the page, between the scenes: 2." in text
    for name in SCENES:
        assert (f"“{Language('en').say(name, 'title')}”" in text) == (name in ("count", "racks")), name
    assert "Exercises 6 and 7." in text and "Exercises 1 and 2." in text
    assert "Exercises 3, 4, 5, 8, 9, 10, 11, 12, 13, 14 of the hand-out: their scenes are not shown on the page" in text
    assert re.search(
        "0–5 .*Show.*5–20 .*counted.*20–45 .*Slide|0–5 .*Show.*5–20 .*counted.*20–45 .*card", text, re.DOTALL
    )
    assert "Predict what happens" not in text and "Count teeth and tell" in text
    assert "windup" not in text and "One tooth more" not in text
    assert own["teacher/shot_list.md"].startswith("# Shot list: Why a turn is none\n")
    for name in ("paper/handout.pdf", "teacher/answers.pdf", "teacher/handouts/bo.pdf", "teacher/answers/bo.pdf"):
        assert "Why a turn is none" in _words(own[name]), name


def test_exercises_are_named_by_their_numbers():
    for numbers, words in (((), ""), ((3,), "Exercise 3"), ((1, 2), "Exercises 1 and 2"), ((4, 5, 6), "Exercises 4 to 6"),
                           ((3, 5, 6), "Exercises 3, 5, 6")):  # fmt: skip
        assert course.task_words(numbers, Language("en")) == words


def test_pieces_that_print_longer_than_a_school_day_are_named():
    long = Piece("parts/print/plate_print.stl", 9.8 * 60)
    made = Prints((Piece("rack/print/strip.stl", 60.0),), None, 800.0, (long,))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plan, "prints", lambda found: made)
        text = markdown(plan.plan(belt(), ALL, Language("en")))
        patch.setattr(plan, "prints", lambda found: replace(made, long=()))
        assert "at a stretch" not in markdown(plan.plan(belt(), ALL, Language("en")))
    assert "longer than 7 h at a stretch: parts/print/plate_print.stl (9.8 h). Begin them early" in text


def test_hours_of_pieces_add_up_to_what_is_told_of_all():
    made = Prints(tuple(Piece(f"rack/{k}.stl", 74.0) for k in range(3)), None, None)  # 1.2333 h each, told as 1.2
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plan, "prints", lambda found: made)
        text = markdown(plan.plan(belt(), ALL, Language("en")))
    ways = dict(re.findall(r"\| (one rack|a rack) model .* \| ([\d.]+) h \|", text))
    assert text.count("| 4 | 1.2 h |") == 3 and ways == {"one rack": "3.6", "a rack": "14.4"}


ALONG = {
    "en": ("does go the same way round", "From here on nobody may say", "most guess the same"),
    "de": ("läuft wirklich im selben Drehsinn", "Niemand darf jetzt noch", "die meisten raten"),
}


@pytest.mark.parametrize("code", ALONG)
def test_the_plan_does_not_forbid_what_is_true_of_a_drive_that_goes_with_its_generator(code):
    language, (along, against, most) = Language(code), ALONG[code]
    for fixed, mover in (("housing", FLEXIBLE), (FLEXIBLE, "housing")):
        data = starter_data("metal_cup")
        data["motion"] = {"fixed": fixed, "driven": "generator", "read": mover}
        about = subject(assess(design_from_data(data)))
        text = markdown(plan.plan(about, ALL, language))
        moments = text.split(f"## {language.say('plan', 'moments')}\n")[1].split("##")[0]
        told = [words in moments for words in (along, against, most)]
        assert told == ([True, False, False] if fixed == FLEXIBLE else [False, True, True])
        assert not re.search(r"[.,]\d*0°", moments)  # no decimals that say nothing


UNATTENDED = {
    "en": (
        "stays near until they are done",
        "over night only where the school allows it",
        "catch fire",
        "from the hand",
    ),
    "de": ("jemand in der Nähe bleibt", "läuft ein Drucker nur, wenn die Schule es erlaubt", "Brand", "Hand weg"),
}


@pytest.mark.parametrize("code", UNATTENDED)
def test_no_printer_is_left_alone_and_who_cuts_is_warned(code):
    language, (near, alone, hot, cut) = Language(code), UNATTENDED[code]
    long = Piece("parts/print/plate_print.stl", 9.8 * 60)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plan, "prints", lambda found: Prints((long,), None, 800.0, (long,)))
        text = markdown(plan.plan(belt(), ALL, language))
    safety = text.split(f"## {language.say('plan', 'safety')}\n")[1].split("## ")[0]
    assert near in text and alone in text and hot in safety and cut in safety
    steel = subject(assess(design_from_data(starter_data("metal_cup"))))
    assert hot not in markdown(plan.plan(steel, ALL, language))  # its parts are not printed here


HERE = Path(__file__).parents[2] / "examples"
EXAMPLES = ("azimuth_belt", "elevation_printed", "focus_steel")


@pytest.mark.parametrize("code", ["en", "de"])
@pytest.mark.parametrize("example", EXAMPLES)
def test_the_plan_shows_what_its_goals_ask_for_and_names_what_it_asks(code, example):
    language, about = Language(code), subject(assess(read(HERE / f"{example}.toml")))
    text = markdown(plan.plan(about, ALL, language))
    rows = [line for line in text.splitlines() if re.match(r"\| \d+–\d+ \|", line)]
    choice = next(row for row in rows if language.say("torque", "title") in row)
    for scene in ("fit", "play"):  # goals hang on these, so nobody may choose to leave them out
        assert language.say(scene, "title") not in choice
        assert sum(language.say(scene, "title") in row for row in rows) == 1
    assert sum(language.say("count", "title") in row for row in rows) == 2 and language.say("count", "title") in rows[0]
    asked = bank(about, language)
    numbers = re.findall(r"(?:no\.|Nr\.) (\d+) [“„]([^“”]+)[”“]", rows[-1])
    assert len(numbers) == course.ASKED == len(set(numbers))
    assert all(asked[int(number) - 1].title == title for number, title in numbers)


@pytest.mark.parametrize("example", EXAMPLES)
def test_five_marks_of_the_card_are_tabled_with_what_is_expected(example):
    about = subject(assess(read(HERE / f"{example}.toml")))
    numbers = paper_racks(about.found, PAPERS[0])
    text = markdown(plan.plan(about, ALL, Language("en")))
    table = text.split("Five marks to stop at")[1].split("\n\n")[1].splitlines()[2:]
    rows = [[float(cell) for cell in row.split("|")[1:4]] for row in table]
    assert len(rows) == 5 and all(row.endswith("|  |") for row in table)
    row = next(
        one for one in numbers.rows if one.name == (numbers.read if numbers.fixed == FLEXIBLE else numbers.fixed)
    )
    pitches = [row.rack_pitch_mm, row.strip_pitch_mm]
    held, moving = pitches[::-1] if numbers.fixed == FLEXIBLE else pitches
    for number, way, out in rows:  # counted: tooth n of the one stands at space n of the other
        assert abs(number * held - way) <= 0.051 and abs(number * abs(held - moving) - out) <= 0.051
        assert way <= float(numbers.travel_in_mm)


def test_sheets_of_counted_students_are_numbered_and_a_guess_has_its_line(made):
    language, own = Language("en"), class_variant(belt().found)
    for student, words in (("1", "Sheet 1"), ("Bo", "Sheet of Bo")):
        blocks = handout.handout(replace(own, student=student), {}, ClassSheet("belt", language))
        assert [one.text for one in blocks if isinstance(one, Para) and one.text.startswith("Sheet")] == [words]
        assert words in _words(handout.handout_pdf(replace(own, student=student), {}, ClassSheet("belt", language)))
    tasks = [one.blocks for one in blocks if isinstance(one, Kept)]
    guesses = [[block.text for block in task if isinstance(block, Heading)] for task in tasks
               if any(isinstance(block, Room) and block.ask == "Predicted way round:" for block in task)]  # fmt: skip
    assert guesses == [["8  Change places"]]
    longer = [one for one in shared_out(blocks) if isinstance(one, Kept)][7].blocks
    assert next(block.lines for block in longer if isinstance(block, Room)) == 1  # more lines are for the work
    told = [task[1].text for task in tasks]
    assert told[4].startswith("Not as at the top of this sheet") and told[4].endswith("Give 2\u00a0decimals.")


def test_a_german_class_gets_the_steps_of_the_card_in_german():
    text = markdown(plan.plan(belt(), ALL, Language("de")))
    assert "Null an Null" in text and "gestrichelte falten" in text
    last = r"So weiter bis \d+ mm, .* Streifen ist [\d,]+ mm gegangen, nach (?:links, gegen den|rechts, mit dem) Keil"
    assert len(re.findall(last, text)) == 1


def test_a_drive_without_a_rack_model_and_one_without_a_printer_say_why():
    steel = subject(assess(design_from_data(starter_data("metal_cup"))))
    text = markdown(plan.plan(steel, ALL, Language("en")))
    assert "names no printer" in text and "card models only" in text and "a rack model for every" not in text


def test_steel_wants_gloves_and_a_bought_cup_is_ordered():
    when, texts = plan.When(datetime.date(2026, 12, 14)), {}
    for kind in ("belt", "printed_cup", "metal_cup"):
        found = assess(design_from_data(starter_data(kind)))
        for code in ("en", "de"):
            language = Language(code)
            said = handout.usual_cautions(found, language)
            steel = kind == "metal_cup"
            assert (cautions.caution("steel_spring", language) in said) is steel
            assert (cautions.caution("eyes", language) in said) is not steel
            texts[kind, code] = markdown(plan.plan(subject(found), ALL, language, plan.Asked(when)))
            ready = texts[kind, code].split("## ")[2]
            assert (("gloves" if code == "en" else "Handschuhe") in ready) is steel
    assert "den Stahltopf zum Anfertigen in Auftrag geben" in texts["metal_cup", "de"]
    assert "Have the steel cup made, ordered by 2026-11-30" in texts["metal_cup", "en"]
    assert "Topf" not in texts["belt", "de"].split("## ")[4]
    data = starter_data("printed_cup")
    for material, there in ((data["flexible_ring"]["material"], False), ("pa12_powder_bed", True)):
        data["flexible_ring"]["material"] = material
        days = prints(assess(design_from_data(data)))
        assert days.cup == (SERVICE if there else "")


def test_play_is_said_to_be_the_least_by_the_outlines(made):
    assert "By the outlines of the teeth play is at least" in made["teacher/plan.md"]
    for code, words in (
        ("en", "at least {}° from stop to stop, by the outlines"),
        ("de", "nach ihren Umrissen um mindestens {}°"),
    ):
        language, own = Language(code), class_variant(belt().found)
        one = next(one for one in exercises(own, language) if one.name == "play")
        assert words.format(language.number(float(own.play_deg), 3)) in one.question


def test_a_page_gives_the_lines_it_has_left_to_work_that_takes_many():
    own, language = class_variant(belt().found), Language("en")
    care = handout.usual_cautions(belt().found, language)
    blocks = handout.handout(own, handout.figures(ALL), ClassSheet("belt", language, cautions=care))
    before, after = (sheet.sheets(one, "t", "f") for one in (blocks, shared_out(blocks)))

    def titles(pages):
        return [
            [item.text for item in page.picture.items if isinstance(item, Text) and re.match(r"\d+  \w", item.text)]
            for page in pages
        ]

    def lines(these):
        return [room.lines for one in these if isinstance(one, Kept) for room in one.blocks if isinstance(room, Room)]

    assert titles(before) == titles(after) and len(before) == len(after)
    few, more = lines(blocks), lines(shared_out(blocks))
    assert all(old <= new for old, new in zip(few, more, strict=True)) and sum(more) > sum(few) + 5
    full = [[min(item.at[1] for item in page.picture.items if isinstance(item, Text) and item.at[1] > 15.0)
             for page in pages] for pages in (before, after)]  # fmt: skip
    assert all(low >= sheet.BOTTOM_MM - 1.0 for low in full[1]) and min(full[1]) < max(full[0])
    assert shared_out((Para("a"),)) == (Para("a"),)


def test_a_caption_tells_where_the_picture_has_another_ring_than_the_question():
    own, language = class_variant(belt().found), Language("en")
    for more, told in ((1, False), (5, True)):
        asked = replace(own, givens=replace(own.givens, wrong_difference=more))
        blocks = handout.handout(asked, handout.figures(ALL), ClassSheet("belt", language))
        captions = [one.figure.caption for one in blocks if isinstance(one, Kept) and one.figure]
        assert any("1 tooth more on the rigid ring, asked with 5" in one for one in captions) is told


def test_long_numbers_stand_in_groups_and_are_not_torn():
    for code, mark in (("en", "."), ("de", ",")):
        language = Language(code)
        assert (
            language.number(9999.5, 1) == f"9999{mark}5" and language.number(-12345.678, 2) == f"−12\u00a0345{mark}68"
        )
        assert language.number(1234567) == "1\u00a0234\u00a0567" and language.number(0.12345, 5) == f"0{mark}12345"
        assert figure(12345.0, 0, language.marks) == "12345"  # readings of a moving picture are read by programs
    assert (
        Language("de").say("exercises", "slip_sign")
        and quotient(Fraction(-50000, 7), Language("en")) == "−50\u00a0000/7"
    )
    wide = text_width_px("takes 12", sheet.BODY_PX) * PX_MM + 1.0
    assert sheet.broken("takes 12\u00a0345 of it", wide)[0] == "takes"


def test_what_can_burn_or_fall_is_said_on_the_handout_of_such_a_drive_only():
    found = belt().found
    for load, there in ((m.Load.MIRROR, ("sun", "falls_wind")), (m.Load.ARM, ("falls",)), (m.Load.NONE, ())):
        loaded = replace(found, design=found.design.model_copy(update={"load": load}))
        for code in ("en", "de"):
            language = Language(code)
            said = handout.usual_cautions(loaded, language)
            assert said == tuple(cautions.caution(name, language) for name in (*there, "pinch", "eyes"))
            blocks = handout.handout(class_variant(found), {}, ClassSheet("belt", language, cautions=said))
            assert [one.text for one in blocks if isinstance(one, Para) and one.strong] == list(said)


def test_cautions_are_the_same_in_every_language():
    for kind in ("belt", "printed_ring-discs", "metal_cup"):
        found = assess(design_from_data(starter_data(kind)))
        names = cautions.names(found)
        assert len(names) == len(found.cautions) == len(cautions.cautions(found, Language("de")))
        for load in m.Load:
            loaded = replace(found, design=found.design.model_copy(update={"load": load}))
            told = tuple(cautions.caution(name, Language("en")) for name in cautions.names(loaded))
            assert told == cautions.cautions(loaded, Language("en"))  # hand-out and plan say the same


@pytest.mark.parametrize(
    "code, skips, wind", [("en", "skip or break", "wind"), ("de", "überspringen oder brechen", "Wind")]
)
def test_a_mirror_is_said_to_fall_when_the_drive_skips_and_when_the_wind_turns_it(code, skips, wind):
    found = belt().found
    loaded = replace(found, design=found.design.model_copy(update={"load": m.Load.MIRROR}))
    for said in (handout.usual_cautions(loaded, Language(code)), cautions.cautions(loaded, Language(code))):
        assert [skips in line and wind in line for line in said].count(True) == 1


def test_the_shot_list_tells_figures_where_they_are_said():
    text = markdown(
        shot_list((SCENE, Scene("x", "X", (), (), not_shown="no such ring")), "belt", ("care",), Language("en"))
    )
    assert "| 5.0 s | … | angle 7° | It turns. |" in text and "Not shown: no such ring" in text and "- [ ] care" in text


def test_markdown_keeps_tables_and_lists():
    text = markdown((Heading("h", 1), Bullets(("a", "b")), Table(("x",), (("1|2",),), (1.0,)), Room(1, "Answer:")))
    assert text == "# h\n\n- a\n- b\n\n| x |\n| --- |\n| 1\\|2 |\n\nAnswer:\n"


def test_students_get_file_names_of_their_own_and_bad_names_are_told():
    assert file_names(("Anna", "Änna", "王", "7")) == {"Anna": "anna", "Änna": "anna_2", "王": "_3", "7": "7"}
    for names in (("Anna", " anna"), ("",), ("a\nb",), ("x" * 61,), tuple(str(n) for n in range(201))):
        with pytest.raises(FileFault, match="students"):
            file_names(names)
