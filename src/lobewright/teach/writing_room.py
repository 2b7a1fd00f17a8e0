"""Room that pages of a hand-out have left, given to the exercises on them as lines to write on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lobewright.teach.document import Block, Kept, Room
from lobewright.teach.sheet import COLUMN_MM, Piece, parts, pieces, placed

MOST_MORE = 3
"""Lines beyond those that the work would take: after that a page may stay empty."""


def _room(block: Block) -> Room | None:
    """The room for the work; one for a guess stands before it."""
    inner = block.blocks if isinstance(block, Kept) else ()
    return next((one for one in reversed(inner) if isinstance(one, Room)), None)


def _longer(block: Block, room: Room) -> Block:
    """The block with one line more in its room."""
    assert isinstance(block, Kept)
    more = replace(room, lines=room.lines + 1)
    return replace(block, blocks=tuple(more if one is room else one for one in block.blocks))


def _pages(made: Sequence[list[Piece] | None], tasks: Sequence[int]) -> tuple[int, ...]:
    """The pages of tasks, and the last page."""
    of = {id(piece): page for page, _, piece in placed(made)}
    return *(of[id(part[0])] for part in (made[at] for at in tasks) if part), max(of.values())


def shared_out(blocks: Sequence[Block]) -> tuple[Block, ...]:
    """The blocks with as many lines more as their pages hold: a line at a time to the task that has the fewest for its work, as
    long as every task stays on its page and no page is added."""
    done, made = list(blocks), parts(blocks)
    tasks = [at for at, block in enumerate(done) if _room(block)]
    pages, full = _pages(made, tasks) if tasks else (), set[int]()
    while True:
        rooms = {at: room for at in tasks if at not in full and (room := _room(done[at]))}
        open_ = {at: room for at, room in rooms.items() if room.lines < room.wanted + MOST_MORE}
        if not open_:
            return tuple(done)
        at = min(open_, key=lambda at: open_[at].lines - open_[at].wanted)
        block = _longer(done[at], open_[at])
        tried = [*made[:at], pieces(block, COLUMN_MM), *made[at + 1 :]]
        if _pages(tried, tasks) == pages:
            done[at], made = block, tried
        else:
            full.add(at)
