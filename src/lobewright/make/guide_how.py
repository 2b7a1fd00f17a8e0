"""How each step is done, and how one knows that it is right, in a few short sentences with the design's numbers.

Pressing, tightening and gluing are common practice for a home workshop, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.make.bought import GROUND
from lobewright.make.guide_facts import Facts, Line
from lobewright.make.guide_stages import IN_ITS_PLACE, Stage
from lobewright.make.guide_words import count_of, middle_edge, turns
from lobewright.make.order import Step

TRAY = "a dab of grease or a strip of tape keeps them in"
SEATED_MM = 0.5
"""A hub that reaches deeper into its plate than this is centred by it."""
GRAVITY = 9.81
"""m/s²."""
ARM_CARE = (
    "Screw the drive to the table first, a box of sand under the weights, feet and face out of the way. Add weights slowly, "
    "one at a time, and stop at the first click: it skips without warning."
)
STRONG_ARM = "Above 3 N·m the arm has to be of steel or aluminium."
LENGTH = re.compile(r"(\d+(?:\.\d+)?) mm$")


def title(stage: Stage, f: Facts) -> str:
    """What a stage is called."""
    names = {lot.part.name for lot in stage.lots}
    if IN_ITS_PLACE in names:
        return f"Instead of {f.input_word}: the arm that holds the generator"
    marks = bool(names & {"mark_plate_output", "mark_plate_held"})
    if stage.step is Step.FLANGE and marks != ("output_flange" in names):
        return "Plates for marks (may be skipped)" if marks else "The flange"
    what = {
        Step.REAR: "The rear plate with the axle's bearings",
        Step.AXLE: "The axle, turning without play",
        Step.BEHIND: "Distance plate, tie rods and rear feet",
        Step.GENERATOR: "On the bench: the wave generator",
        Step.RING_ON_GENERATOR: f"On the bench: the {f.ring_word} goes on the generator",
        Step.GENERATOR_ON_AXLE: "The generator goes on the axle",
        Step.HELD_RING: f"The held ring goes over the {f.ring_word}" if not f.cup else "The held ring",
        Step.OUTPUT: "On the bench: the cup with its hub" if f.cup else "On the bench: the output",
        Step.OUTPUT_ON: "The cup goes on the generator" if f.cup else f"The output slides over the {f.ring_word}",
        Step.FRONT: "On the bench: the front plate with its bearings",
        Step.FRONT_ON: "The front plate goes on",
        Step.FLANGE: "Flange and plates for marks",
        Step.INPUT: "What turns it",
        Step.TEST: "Arms for tests",
    }
    return what[stage.step]


def sentences(f: Facts, of_step: Sequence[Stage], index: int) -> tuple[str, ...]:
    """What is told with one of the stages of a step."""
    holds = [{lot.part.name for lot in stage.lots} for stage in of_step]
    found = []
    for line in HOW[of_step[0].step](f):
        at = next((k for k, names in enumerate(holds) if names & set(line.parts)), None if line.parts else 0)
        if at == index:
            found.append(line.text)
    return tuple(found)


# --- rear ------------------------------------------------------------------------------------------------------------


def _pressed(f: Facts, name: str, tubes: str) -> list[Line]:
    bearing = f.bearing(name)
    size = f" ({bearing.bore_mm:g} × {bearing.outer_mm:g} mm)" if bearing else ""
    inside = ", both tubes, the narrow one inside the wide one, then the other bearing" if f.has(tubes) else ""
    tight = "scrape the seat a little" if f.printed else "ease the seat with fine cloth"
    return [
        Line(
            f"Lay the plate down with its boss up. From the boss's open end: a bearing{size}{inside}. Push by "
            f"the outer ring, with a "
            f"socket or a piece of tube, never through the balls. Too tight for firm hand pressure: {tight}."
        )
    ]


def _rear(f: Facts) -> list[Line]:
    return [
        *_pressed(f, "axle_bearing", "axle_inner_tube"),
        Line("Nuts from the flat side, then the cap's screws, crosswise in two rounds.", ("rear_cap_screw",)),
        Line("It is right when nothing rattles and both inner rings still turn by a fingertip.", ("rear_cap_screw",)),
    ]


def _axle(f: Facts) -> list[Line]:
    rod = f.by_name["axle"][0].part.designation if f.has("axle") else ""
    length = LENGTH.search(rod)
    cut = f"Cut the rod to {length[1]} mm, file a chamfer on both ends, run a nut over each. " if length else ""
    ground = rod.startswith(GROUND)
    ring = (
        "the front one with a ring spanner slipped over the rod (an open one does not turn between the cap's nuts)"
        if f.has("rear_cap_nut")
        else "with two spanners"
    )
    out = (
        f"so that {f.top_mm('axle') - f.top_mm('rear_plate'):.0f} mm stand out in front of the plate; "
        if f.has("axle")
        else ""
    )
    if ground:
        return [
            Line(
                f"Push it through from behind, the front thread first, {out}a collar on either side. Nut and lock nut behind "
                "stay finger tight: the nuts before the generator clamp bearings and generator together later."
            ),
            Line("It is right when it slides in by hand and spins freely.", ("axle",)),
        ]
    return [
        Line(
            f"{cut}Push it through from behind, {out}a collar and a nut on either side. Tighten both nuts "
            f"against the inner rings, "
            f"{ring}, then the lock nut behind."
        ),
        Line(
            "It is right when it spins freely and no play is felt to and fro. If it turns hard, the narrow tube "
            "between the bearings "
            "is shorter than the wide one: make the pair anew, both alike."
        ),
    ]


def _behind(f: Facts) -> list[Line]:
    way = ": one way round only, its ears to the front, toward the belt's edge" if f.has_ears("distance_plate") else ""
    found = [Line(f"Lay the distance plate on the rear plate, hole over hole{way}.", ("distance_plate",))]
    if f.has("cover"):
        found.append(Line("The clear sheet lies between them; peel its film off first.", ("cover",)))
    if f.has("tie_rod"):
        out = f.low_mm("rear_plate") if f.has("rear_cap") else f.low_mm("tie_rod")
        nut = f.by_name.get("tie_nut", [])
        back = min((lot.low_mm for lot in nut), default=out)
        stub = back - f.low_mm("tie_rod")
        found.append(
            Line(
                f"Rods through from behind: each stands {stub:.0f} mm out behind its nut. Leave the nuts finger "
                f"tight: the rods are "
                "set when the front plate is on.",
                ("tie_rod",),
            )
        )
    found.append(Line("Feet on the two lower rods, their lugs outward.", ("foot",)))
    return found


# --- generator and ring ----------------------------------------------------------------------------------------------


def _generator(f: Facts) -> list[Line]:
    generator = f.a.design.generator
    if isinstance(generator, m.Cam):
        if not f.has("thin_bearing"):
            return [
                Line("Smooth the cam's rim: the ring slides on it. The small hole marks where it is longest."),
                *_gauged(f),
            ]
        return [
            Line(
                "Grease the thin bearing first (see Grease): a third of the space between its balls. Later nothing gets in.",
                ("thin_bearing",),
            ),
            Line(
                "The thin bearing is round until it is on the cam: start it where the cam is longest, then "
                "press it down evenly all "
                "round by hand, both races together. A drop of oil helps, a hammer ruins it."
            ),
            Line(
                "It is right when it lies level with both faces and turns smoothly, a little stiffly. The small "
                "hole marks a lobe."
            ),
            *_gauged(f),
        ]
    if isinstance(generator, m.Discs):
        return [
            Line(
                "Press the bearings into the discs by their outer rings, then the eccentric into the bearings "
                "by their inner rings."
            ),
            Line("The discs look to opposite sides: turn the eccentric, both must run freely past each other."),
        ]
    stack = f.count("roller") // max(f.count("axle_screw") + f.count("axle_rod"), 1)
    each = f"{count_of(stack)} bearing{'s' if stack > 1 else ''}" if stack else "the bearings"
    found = [
        Line(
            f"Push the screws through one carrier from outside and lay it down on their heads. Slip {each} over "
            f"each, shoulders of the "
            "carriers toward the bearings, then the other carrier and the nuts."
            if not f.a.design.assembly.adjustable
            else f"Set screws and their nuts into both carriers first, then the rods with {each} each, sliders "
            f"and nuts outside.",
        )
    ]
    if f.has("generator_tube"):
        nut = ", its nut inside," if f.has("generator_held_nut") else ""
        found.append(
            Line(
                f"The tube in the middle{nut} goes in with the rollers: its ends sit in the pockets of both carriers.",
                ("generator_tube",),
            )
        )
    if f.a.design.assembly.adjustable:
        found.append(Line("Set all sliders to the same mark of the scale before you lock their nuts.", ("slider",)))
    found.append(
        Line("Tighten crosswise. It is right when every roller spins by a fingertip and none rattles.", ("axle_nut",))
    )
    return [*found, *_gauged(f)]


def _gauged(f: Facts) -> list[Line]:
    """How a machined generator is measured; a printed one is judged by its drag."""
    if f.printed:
        return []
    most = f.a.design.generator.run_out_mm
    reach = "all lobes reach equally far" if f.a.design.lobes > 2 else "both lobes reach equally far"
    return [
        Line(
            f"Measure it: turn it on a pin that fits its bore under a dial gauge. {reach.capitalize()} within "
            f"{most:g} mm, as the design assumes; if not, ease its bore or make it anew."
        )
    ]


def _ring_on(f: Facts) -> list[Line]:
    if f.belt:
        return [
            Line(
                "Turn the belt inside out, so that its teeth look outward. Lay it over the rollers of one lobe "
                "and walk it on round the "
                "others, a little at a time, with fingers only: an edge cuts its cords."
            ),
            Line("It is right when its edges are level with the rollers all round and no tooth is folded."),
        ]
    return [
        Line(
            "The ring is round until it is on the generator: squeeze it oval by hand, slip it over the lobes "
            "squarely and keep your face "
            "away, it springs."
        ),
        Line("It is right when it lies level all round and no edge rubs."),
    ]


def _on_axle(f: Facts) -> list[Line]:
    way = "screw the generator on against it" if f.has("generator_held_nut") else "slide the generator on against it"
    hold = "the carrier" if f.has("carrier") else "the generator"
    ground = f.has("axle") and f.by_name["axle"][0].part.designation.startswith(GROUND)
    there = "collar" if ground else "nut that is there"
    found = [
        Line(
            f"First the tube over the axle, up to the {there}; {way}, then washer, nut and lock nut. "
            f"Hold {hold} while "
            f"tightening, never the {f.ring_word}."
            if not f.cup
            else f"First the tube over the axle, up to the {there}; {way}, then washer, nut and lock nut."
        ),
        *_way_round(f),
        Line(
            "It is right when generator and axle turn as one, touch nothing, and run true: hold a pencil beside "
            "a lobe and turn."
        ),
    ]
    return found


def _way_round(f: Facts) -> list[Line]:
    """Which end of the generator looks back, by what of it can be seen."""
    seen = []
    if f.has("axle_screw"):
        heads = {place.over for lot in f.by_name["axle_screw"] for place in lot.places}
        seen += (
            [f"the heads of the rollers' screws look {'forward' if heads.pop() else 'back'}"] if len(heads) == 1 else []
        )
    if f.has("generator_held_nut"):
        front = f.low_mm("generator_held_nut") + f.top_mm("generator_held_nut") > f.low_mm("generator_tube") + f.top_mm(
            "generator_tube"
        )
        seen.append(f"the nut in its tube is {'in front' if front else 'behind'}")
    return [Line(f"Which way round: {', '.join(seen)}.")] if seen else []


def _held(f: Facts) -> list[Line]:
    ring = f.a.design.motion.fixed
    found = [Line("The notch in the rim marks the middle of a tooth space: turn it to the right, seen from the front.")]
    if isinstance(f.a.design.flexible_ring, m.MetalCup):
        found.append(
            Line(
                "Grease its teeth before it goes in (see Grease), all round, and those of the cup before it goes on: later "
                "nothing gets in."
            )
        )
    if f.has("held_ring_dowel"):
        found.append(Line("The dowels go into the plates first; the ring is pushed on them.", ("held_ring_dowel",)))
    if not f.cup:
        found.append(
            Line(f"Nuts into their pockets ({TRAY}). Slide the ring over the {f.ring_word} squarely, all teeth "
                f"at once; turn the generator "
                 "a little to and fro until it goes.")
        )  # fmt: skip
    gap = f"It is right when the tips midway between the lobes clear by {_gap(f.a, ring)} on all sides."
    turning = (
        ""
        if f.has("held_ring_dowel") or f.cup
        else ", while you turn the generator slowly: so the teeth set the ring in the middle"
    )
    later = "" if f.has("held_ring_dowel") else " It is set in the middle once more when the cup is on."
    found.append(
        Line(
            f"Screws from behind, crosswise in two rounds{turning}.{later if f.cup else f' {gap}'}",
            ("held_ring_screw",),
        )
    )
    return found


def _gap(a: Assessment, name: str) -> str:
    pairs = zip(a.design.rigid_ring, a.rings, strict=True)
    return next((f"{middle_edge(mesh):.2f} mm" for ring, mesh in pairs if ring.name == name), "the same gap")


# --- output ----------------------------------------------------------------------------------------------------------


def _output(f: Facts) -> list[Line]:
    if f.cup:
        deep, socket = f.low_mm("boss_nut") - f.low_mm("flexible_cup"), f.nut_across_mm("boss_nut")
        dowels = ", dowels into the plate" if f.has("hub_dowel") else ""
        seated = dowels or f.low_mm("output_hub") < f.top_mm("output_plate") - SEATED_MM
        off = "If it wobbles, look for a burr under it." if seated else "Tap the hub until it runs true and square."
        lock = (
            "Tighten its screws again after a day: a nut that comes loose falls into the generator."
            if f.printed
            else "A drop of thread lock on each screw: a nut that comes loose falls into the generator."
        )
        return [
            Line(f"Nuts inside first, {deep:.0f} mm deep in the cup: {socket:g} mm socket on an extension, the "
                 "nut held in it by a dab of grease, while its screw is tightened from outside.", ("boss_nut",)),
            Line("The plate's own nuts lie in its pockets before it lies on the boss: later none gets in.", ("hub_nut",)),
            Line(f"Screw the plate on the boss, crosswise. It must not touch the thin wall round the boss. "
                 f"{lock}", ("boss_screw",)),
            Line(f"Nut under the hub{dowels}, hub on the plate, its screws finger tight. Stand the cup on its open edge on a "
                 "flat table, turn it and watch the hub's edge against something that stands still. "
                 f"{off} Then tighten crosswise and look again.", ("output_hub",)),
        ]  # fmt: skip
    between = "distance ring " if f.has("output_distance") else ""
    dowels = ", the dowels in their holes" if f.has("read_ring_dowel") else ", holes in line"
    one_way = (
        "The distance ring goes one way round only: its ears on the side of the plate, away from the ring's teeth."
    )
    ears = [Line(one_way, ("output_distance",))] if f.has_ears("output_distance") else []
    return [
        Line(f"Nuts into the ring's pockets and under the hub ({TRAY}).", ("read_ring_nut",)),
        Line(
            f"Stack ring, {between}and plate{dowels}, and screw them together crosswise.",
            ("read_ring_screw",),
        ),
        *ears,
        Line(
            "It is right when no screw stands out of the ring: the held ring is a millimetre away.",
            ("read_ring_screw",),
        ),
    ]


def _output_on(f: Facts) -> list[Line]:
    if f.cup:
        loose = (
            ""
            if f.has("held_ring_dowel")
            else "Loosen the held ring's screws half a turn, turn the generator slowly ten times, and tighten "
            "them crosswise "
            "while it turns: so the ring sets itself in the middle. "
        )
        return [
            Line(
                "Squeeze the cup's open edge oval, its long way along the lobes of the generator. Slip it over "
                "the lobes squarely, keep your "
                "face away, it springs. Turn the generator to and fro until the teeth fall into those of the "
                "held ring."
            ),
            Line(
                f"{loose}Midway between the lobes the tips clear by {_gap(f.a, f.a.design.motion.fixed)} on all sides."
            ),
        ]
    return [
        Line(
            f"Slide the output's ring over the front half of the {f.ring_word}, squarely, its notch to the "
            f"right; turn the generator a "
            "little to and fro until all teeth go in at once."
        ),
        Line(
            "Nothing holds it yet but the teeth: keep the axle upright, or a hand on it, until the front plate is on."
        ),
    ]


def _front(f: Facts) -> list[Line]:
    return [
        *_pressed(f, "output_bearing", "output_inner_tube"),
        Line(
            "Nuts from the flat side, cap, screws crosswise. Both inner rings must still turn by a fingertip.",
            ("front_cap_screw",),
        ),
    ]


def _front_on(f: Facts) -> list[Line]:
    found = []
    if f.has("upper_distance_tube") and f.has("lower_distance_tube"):
        upper, lower = f.long_mm("upper_distance_tube"), f.long_mm("lower_distance_tube")
        found.append(
            Line(
                f"Tubes over the rods: {upper:.1f} mm on the upper two, {lower:.1f} mm and a foot, its lug "
                f"outward, on the lower two. They "
                "set the plate's distance."
            )
        )
    stand = f"all {count_of(f.count('foot'))} feet stand" if f.has("foot") else "both plates stand"
    ease = "" if f.printed else " Machined: ease the hub with fine cloth until the bearings slide on by hand."
    found += [
        Line(
            f"Push the plate over the hub. Where it is tight press on the bearings' INNER rings, with a tube "
            "that just passes the hub, never "
            f"on the plate and over the balls.{ease}",
        ),
        Line(
            f"Washers and nuts, finger tight. Set the plate square: {stand} on the table without "
            "rocking. Then tighten crosswise while you turn the generator slowly, so that the rings centre.",
        ),
        Line(
            "The plate has a little play on its rods, so measure: over a whole turn of the output the drag is the same, and "
            "midway between the lobes the gap of the tips is the same all round. Else loosen the front nuts, shift the plate, "
            "tighten and turn again.",
        ),
        *([Line("Where the axis stands upright in use, screw all feet to an upright board.")] if f.has("foot") else []),
        Line(
            "It is right when the hub turns with an even drag. "
            + (
                "Printed parts settle: tighten all nuts again after a day and after a month."
                if f.printed
                else "Tighten all nuts again after the first hours."
            ),
        ),
    ]
    return found


def _flange(f: Facts) -> list[Line]:
    return [
        Line(
            "Nuts into the flange's pockets from behind, collar on the hub, the flange on the hub's hexagon, "
            "disc and screw.",
            ("output_flange",),
        ),
        Line(
            "Tighten until the bearings' inner rings are clamped: the output turns freely, and no play is felt "
            "along the axis. The screw "
            "reaches the nut under the hub; if it turns empty, the nut has fallen out.",
            ("clamp_screw",),
        ),
        Line(
            "Plates for marks: one turns with the output, one stands on the post; a camera or a ruler reads "
            "them. They may be left off.",
            ("mark_plate_output", "mark_post"),
        ),
    ]


# --- input and arms --------------------------------------------------------------------------------------------------


def _input(f: Facts) -> list[Line]:
    if f.has("crank"):
        return [
            Line(
                "The grip first: screw, grip, a nut that still lets the grip turn, then the crank and the "
                "second nut, both nuts tight "
                "against the crank."
            ),
            Line(
                f"An M8 nut into the crank's pocket, screw the crank on the axle, and lock it with the other "
                f"nut. {turns(f.a)} turns bring "
                "the output round once."
            ),
            Line(
                "Crank OR motor, never both: a motor would throw the crank round. Later, with a motor, the "
                "crank comes off and its two M8 "
                "nuts stay for the reaction arm."
            ),
        ]
    found = [
        Line(
            "There is no crank here: it is either crank or motor. For the first turns by hand take "
            f"{f.input_word} between two fingers."
        )
    ]
    if f.has("shaft_clamp"):
        found.append(
            Line(
                "Slip the clamp hub half over the axle, half over the shaft that drives it, then tighten both "
                "its screws."
            )
        )
    if f.has("motor_plate"):
        found.append(
            Line("Coupling on the axle, tubes over the rods, the motor on its plate with its screws finger "
                "tight, both over the rods; let motor and axle find "
                "one line before you tighten.",
                 ("motor_plate",))
        )  # fmt: skip
    found.append(Line("Power off and unplugged until the steps and the first run by hand are done."))
    return found


def _weight(f: Facts) -> str:
    """What has to hang there for the rated torque."""
    rated, arm = f.a.design.rated_torque_Nm, f.a.design.assembly.arm_mm
    return f": {rated / (arm / 1e3) / GRAVITY:.2g} kg there are the rated {rated:g} N·m" if rated else ""


def _test(f: Facts) -> list[Line]:
    arm = f.a.design.assembly.arm_mm
    low = f.has("gauge_holder") and f.has("foot") and f.floor_mm("gauge_holder") < f.floor_mm("foot")
    below = " It reaches lower than the feet: stand the front plate at the table's edge." if low else ""
    again = "; its two M8 nuts are used again" if f.has("crank") else "; it has two M8 nuts of its own"
    return [
        Line("Only for measuring: the drive runs without any of them, and they come off again.", ()),
        Line(
            f"Test arm on the flange, screws crosswise. Weights hang from a cord in its notches, {arm:g} mm "
            f"from the axis{_weight(f)}.",
            ("test_arm",),
        ),
        Line(f"{ARM_CARE} {STRONG_ARM}", ("test_arm",)),
        Line(
            "The gauge's holder stands on the two right rods, over their nuts; the gauge touches the arm from below."
            f"{below}",
            ("gauge_holder",),
        ),
        Line(
            f"Either turn the drive, or hold it: the reaction arm takes the place of {f.input_word} on the "
            f"axle{again}, one in its pocket and one "
            "against it. Its end rests on a kitchen scale, which tells the force, or on a firm stop.",
            (IN_ITS_PLACE,),
        ),
    ]


HOW = {
    Step.REAR: _rear,
    Step.AXLE: _axle,
    Step.BEHIND: _behind,
    Step.GENERATOR: _generator,
    Step.RING_ON_GENERATOR: _ring_on,
    Step.GENERATOR_ON_AXLE: _on_axle,
    Step.HELD_RING: _held,
    Step.OUTPUT: _output,
    Step.OUTPUT_ON: _output_on,
    Step.FRONT: _front,
    Step.FRONT_ON: _front_on,
    Step.FLANGE: _flange,
    Step.INPUT: _input,
    Step.TEST: _test,
}
