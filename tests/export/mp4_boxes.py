"""A reader of MP4's boxes of our own, after ISO/IEC 14496-12: what a film says of itself, without any film library."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

HOLDERS = {b"moov", b"trak", b"mdia", b"minf", b"stbl"}


@dataclass(frozen=True)
class Film:
    """``order``: names of the outermost boxes. ``steps``: seconds from each picture to the next, as the file tells them."""

    order: tuple[str, ...]
    codec: str
    width: int
    height: int
    pictures: int
    steps: tuple[Fraction, ...]
    whole_pictures: tuple[int, ...]
    matrix: int


def _boxes(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    at = 0
    while at < len(data):
        size, name = struct.unpack_from(">I4s", data, at)
        head = 8
        if size == 1:
            size, head = struct.unpack_from(">Q", data, at + 8)[0], 16
        yield name, data[at + head : at + size]
        at += size


def _found(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    for name, content in _boxes(data):
        yield name, content
        if name in HOLDERS:
            yield from _found(content)


def read(data: bytes) -> Film:
    """What the boxes say."""
    order = tuple(name.decode() for name, _ in _boxes(data))
    boxes = dict(_found(data))
    scale = struct.unpack_from(">I", boxes[b"mdhd"], 12)[0]
    steps: list[Fraction] = []
    for count, delta in struct.iter_unpack(">II", boxes[b"stts"][8:]):
        steps += [Fraction(delta, scale)] * count
    entry = boxes[b"stsd"][8:]
    width, height = struct.unpack_from(">HH", entry, 32)
    inner = dict(_boxes(entry[86 : struct.unpack_from(">I", entry)[0]]))
    assert inner[b"colr"][:4] == b"nclx"
    whole = tuple(number for (number,) in struct.iter_unpack(">I", boxes[b"stss"][8:]))
    pictures = struct.unpack_from(">I", boxes[b"stsz"], 8)[0]
    matrix = struct.unpack_from(">H", inner[b"colr"], 8)[0]
    return Film(order, entry[4:8].decode(), width, height, pictures, tuple(steps), whole, matrix)
