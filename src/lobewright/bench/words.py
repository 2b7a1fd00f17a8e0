"""What the sheets say: title, what it is good for, tools, steps, cautions; one entry a test."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Words:
    """``quantity`` and ``unit`` of what the readings give, ``reading`` the head of the column that is written in."""

    title: str
    purpose: str
    quantity: str
    unit: str
    reading: str
    steps: tuple[str, ...]
    cautions: tuple[str, ...]


FALL = "Hung weights fall when a knot, strap or belt lets go: feet and fingers out from under them, a soft pad below."
EYES = "A loaded belt or thread that lets go whips: wear eye protection, keep your face out of its line."
PINCH = "Fingers stay out from between roller, strap and hub while the load is on."
BLADE = "The blade has edges: round those that you touch."

WORDS = {
    "squeeze_test": Words(
        title="Squeeze the ring",
        purpose="gives its bending stiffness EI, which decides how hard the generator must push and how teeth are held in mesh",
        quantity="bending stiffness EI, whole width",
        unit="N·mm²",
        reading="height",
        steps=(
            "Stand the ring on edge on a flat table, its axis level, teeth outward as it is used.",
            "Lay a light, stiff, flat plate on top: card for a belt, thin board for a print. Do not lean on it.",
            "Lay on the loads one after another, over the middle. The plate is no load. Wait equally long before "
            "every reading, say 30 seconds: rubber and plastics creep.",
            "Read the height between table and plate on both sides; write down the mean. Take the loads off in the "
            "same steps and read again.",
            "Shift is the height of the round ring less the height read. Stop at {stop}: readings beyond it are "
            "refused.",
        ),
        cautions=(
            "The ring can jump out sideways: no face above it.",
            "Loose weights roll: keep a rim on the plate or use flat ones.",
        ),
    ),
    "stretch_test": Words(
        title="Stretch the belt",
        purpose="gives its stiffness in stretch EA, which lets teeth far from the lobes share the load",
        quantity="stretch stiffness EA, whole width",
        unit="N",
        reading="gauge",
        steps=(
            "Hang the closed belt over a pin that turns (a ball bearing on a bolt); put a second such pin into its "
            "lower end.",
            "Fix the gauge so that it reads from axle to axle. The give of hook, frame and strap must not be in it.",
            "Put on the heaviest load once, take it off again, and only then begin: the first pull settles the cords.",
            "Put on the loads one after another and read; take them off in the same steps and read again.",
            "Shift is how much farther apart the axles are than at no load.",
        ),
        cautions=(FALL, EYES),
    ),
    "skew_test": Words(
        title="Skew the belt",
        purpose="gives the stiffness of the web between the two rows of teeth, through which all torque passes",
        quantity="shear stiffness of the web",
        unit="N/mm",
        reading="gauge",
        steps=(
            "Clamp one edge of the belt between two bars, teeth and all, and fix the bars to the table.",
            "Clamp the other edge between two more bars that lie free. Leave the stated width of belt between the "
            "bars and measure it.",
            "Lead a thread from the free bars along the belt over a smooth pin or a bearing and hang the loads on it.",
            "Read how far the free bars have moved along the belt. They must not turn: guide them with smooth tape "
            "if they do.",
            "Take the loads off in the same steps and read again.",
        ),
        cautions=(FALL, "Clamps pinch: tighten them with the thread slack."),
    ),
    "tooth_push": Words(
        title="Push one tooth",
        purpose="gives the stiffness of a tooth, which decides how many of them share the load",
        quantity="stiffness of a tooth a mm of width, at the height of the push",
        unit="N/mm²",
        reading="gauge",
        steps=(
            "Glue a piece of belt by its back to a flat block, or use thin double tape; no glue between the teeth.",
            "Set a stiff blade, as wide as the belt, against one tooth's flank at half its height. Guide it so that it "
            "cannot climb.",
            "Load the blade by a thread over a smooth pin, along the belt.",
            "Read the gauge against the blade, close to the tooth. Stop at {stop} of shift: beyond it the blade slides up.",
            "Take the loads off in the same steps and read again. Do it at three teeth, a table each: belts are not even.",
        ),
        cautions=(FALL, BLADE),
    ),
    "arm_push": Words(
        title="Push on an arm",
        purpose="gives the stiffness of a roller's arm with pin and bearing; of all inputs the skip torque hangs on it most",
        quantity="stiffness of one arm",
        unit="N/mm",
        reading="gauge",
        steps=(
            "Mount the wave generator on its shaft as it is used, screws tight, and hold the shaft fast, not the arm.",
            "Load one roller straight toward the shaft: a strap over it with the weight hung below, or a scale between "
            "roller and press.",
            "Set the gauge against the roller's axle, its stand on what holds the shaft.",
            "Put on the heaviest load once and take it off. Then go up in steps and read, and down again.",
            "Shift is how far the axle moved toward the shaft. Do it for every arm, a table each.",
        ),
        cautions=(FALL, PINCH),
    ),
}
