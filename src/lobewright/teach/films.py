"""Films of takes: MP4 (H.264), GIF, single pictures on nothing.

Pictures are painted, and for MP4 also encoded, in several processes, each a piece of the film that begins with a whole picture
of its own; here the pieces are put one behind the other. A file appears when it is complete, under no other circumstances.
"""

from __future__ import annotations

import contextlib
import io
import os
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, partial
from pathlib import Path
from typing import Any, TypeVar

from lobewright.errors import OutputFault, lacking
from lobewright.mapper import Mapper
from lobewright.picture.pixels import Pixels
from lobewright.teach.film_frame import bare_frame, frame, layout
from lobewright.teach.reel import Reel

Progress = Callable[[float], None]
Made = TypeVar("Made")
PIECE = 30
"""Pictures that one process makes at a time, for MP4 also from one whole picture to the next: half a second of 60 a second."""
QUALITY = "17"
"""Constant rate factor of the encoder: flat colours and text without visible loss."""
GIF_COLOURS = 128
GIF_SAMPLES = 5


@dataclass(frozen=True)
class Kind:
    """A form of film. ``ending`` of its file name; pictures have 16 : 9."""

    height_px: int
    rate: int
    ending: str

    @property
    def width_px(self) -> int:
        return self.height_px * 16 // 9


KINDS: Mapping[str, Kind] = {
    "1080p60": Kind(1080, 60, ".mp4"),
    "4k30": Kind(2160, 30, "_4k.mp4"),
    "gif": Kind(360, 20, ".gif"),
    "frames": Kind(1080, 30, ""),
}
"""By the names that lesson files and the command use; ``frames`` are numbered PNG pictures on nothing, in a folder."""


@cache
def _av() -> Any:
    try:
        import av
    except ImportError as error:
        raise lacking("Films need the library av", error, "lesson") from None
    av.logging.set_level(av.logging.PANIC)
    return av


@cache
def _pil() -> Any:
    try:
        from PIL import Image
    except ImportError as error:
        raise lacking("GIF and PNG need the library pillow", error, "lesson") from None
    return Image


def _in_pieces(
    film: Reel, kind: Kind, make: Callable[[range], Made], progress: Progress | None, mapper: Mapper
) -> Iterator[tuple[range, Made]]:
    """Every piece of a film, in order, with what is made of it; ``progress`` is told the share that the caller has taken."""
    count = film.frames(kind.rate)
    pieces = [range(first, min(first + PIECE, count)) for first in range(0, count, PIECE)]
    for number, (piece, made) in enumerate(zip(pieces, mapper(make, pieces), strict=True), 1):
        yield piece, made
        if progress:
            progress(number / len(pieces))


def _painted(film: Reel, kind: Kind, piece: range) -> Iterator[Pixels]:
    """The pictures of a piece; while the film stands still, one and the same."""
    place = layout(film)
    before: tuple[float, str] | None = None
    for number in piece:
        seconds = number / kind.rate
        now = film.u(seconds), film.caption(seconds)
        if now != before:
            shown, before = frame(film, place, seconds, kind.height_px), now
        yield shown


def _encoder(out: Any, kind: Kind) -> Any:
    stream = out.add_stream("libx264", rate=kind.rate)
    stream.width, stream.height, stream.pix_fmt = kind.width_px, kind.height_px, "yuv420p"
    stream.time_base = stream.codec_context.time_base = Fraction(1, kind.rate)
    stream.codec_context.thread_count = 1
    stream.codec_context.color_primaries = stream.codec_context.color_trc = stream.codec_context.colorspace = 1
    stream.codec_context.color_range = 1
    stream.options = {"preset": "veryfast", "crf": QUALITY, "tune": "animation", "bf": "0", "g": str(PIECE)}
    return stream


def _encoded(film: Reel, kind: Kind, piece: range) -> bytes:
    """A piece of the film as a film file of its own."""
    av = _av()
    buffer = io.BytesIO()
    with av.open(buffer, "w", format="mp4") as out:
        stream = _encoder(out, kind)
        for count, painted in enumerate(_painted(film, kind, piece)):
            shown = av.VideoFrame.from_ndarray(painted[..., :3].copy(), format="rgb24")
            shown = shown.reformat(format="yuv420p", dst_colorspace="ITU709")
            shown.pts, shown.time_base = count, Fraction(1, kind.rate)
            out.mux(stream.encode(shown))
        out.mux(stream.encode(None))
    return buffer.getvalue()


@contextlib.contextmanager
def _told(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise OutputFault(f"the film cannot be written: {error.strerror or error}", str(path)) from None


@contextlib.contextmanager
def _whole(path: Path) -> Iterator[Path]:
    """A file name beside ``path`` to write to; it takes the name of ``path`` when the block ends well, else it goes."""
    with _told(path):
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        os.close(handle)
        half = Path(name)
        try:
            yield half
            half.chmod(0o644)
            os.replace(half, path)
        finally:
            half.unlink(missing_ok=True)


def write_mp4(
    film: Reel,
    path: Path,
    kind: Kind = KINDS["1080p60"],
    progress: Progress | None = None,
    mapper: Mapper = map,
) -> None:
    """Write a film as MP4: H.264, 4:2:0, colours after ITU-R BT.709, its index in front so that it plays while it loads.

    ``progress`` is called with the share done; an exception it raises, or a key pressed, ends it and leaves no file. Raises
    PlatformFault (a library is missing), OutputFault (cannot be written).
    """
    av = _av()
    front = {"movflags": "+faststart"}
    with _whole(path) as half, av.open(str(half), "w", format="mp4", options=front) as out:
        stream = None
        for piece, data in _in_pieces(film, kind, partial(_encoded, film, kind), progress, mapper):
            with av.open(io.BytesIO(data)) as part:
                source = part.streams.video[0]
                if stream is None:
                    stream = out.add_stream_from_template(source)
                    stream.time_base = source.time_base
                first = round(Fraction(piece.start, kind.rate) / source.time_base)
                for packet in part.demux(source):
                    if packet.size:
                        packet.pts, packet.dts, packet.stream = packet.pts + first, packet.dts + first, stream
                        out.mux(packet)


def _mapped(film: Reel, kind: Kind, colours: list[int], piece: range) -> list[bytes]:
    """Pictures as places in a table of colours."""
    table = _table(colours)
    painted = (_pil().fromarray(one[..., :3]) for one in _painted(film, kind, piece))
    return [one.quantize(palette=table, dither=0).tobytes() for one in painted]


def _table(colours: list[int]) -> Any:
    table = _pil().new("P", (1, 1))
    table.putpalette(colours)
    return table


def _colours(film: Reel, kind: Kind) -> list[int]:
    """The colours that a few pictures of the film need most."""
    import numpy as np

    count = film.frames(kind.rate)
    numbers = [round(k * (count - 1) / max(GIF_SAMPLES - 1, 1)) for k in range(GIF_SAMPLES)]
    place = layout(film)
    seen = [frame(film, place, number / kind.rate, kind.height_px)[..., :3] for number in numbers]
    found = _pil().fromarray(np.concatenate(seen)).quantize(GIF_COLOURS, method=_pil().Quantize.MEDIANCUT, dither=0)
    return list(found.getpalette()[: 3 * GIF_COLOURS])


def write_gif(
    film: Reel,
    path: Path,
    kind: Kind = KINDS["gif"],
    progress: Progress | None = None,
    mapper: Mapper = map,
) -> None:
    """Write a film as GIF that repeats without end, with one table of colours for all pictures. Stops and raises like
    :func:`write_mp4`."""
    image = _pil()
    colours = _colours(film, kind)
    shown: list[Any] = []
    for _, some in _in_pieces(film, kind, partial(_mapped, film, kind, colours), progress, mapper):
        for data in some:
            one = image.frombytes("P", (kind.width_px, kind.height_px), data)
            one.putpalette(colours)
            shown.append(one)
    with _whole(path) as half:
        rest = shown[1:]
        shown[0].save(
            half,
            "GIF",
            save_all=True,
            append_images=rest,
            duration=1000 // kind.rate,
            loop=0,
            optimize=False,
            disposal=1,
        )


def _png(pixels: Pixels) -> bytes:
    out = io.BytesIO()
    _pil().fromarray(pixels).save(out, "PNG", compress_level=2)
    return out.getvalue()


def _bare(film: Reel, kind: Kind, piece: range) -> list[bytes]:
    return [_png(bare_frame(film, film.u(number / kind.rate), kind.height_px)) for number in piece]


def write_frames(
    film: Reel,
    folder: Path,
    kind: Kind = KINDS["frames"],
    progress: Progress | None = None,
    mapper: Mapper = map,
) -> None:
    """Write the take alone, on nothing, as ``0001.png`` and so on into a folder that does not exist yet. Stops and raises like
    :func:`write_mp4`; a folder appears only when it is complete."""
    with _told(folder), tempfile.TemporaryDirectory(prefix=f".{folder.name}.", dir=folder.parent) as room:
        half = Path(room) / folder.name
        half.mkdir()
        for piece, some in _in_pieces(film, kind, partial(_bare, film, kind), progress, mapper):
            for number, data in zip(piece, some, strict=True):
                (half / f"{number + 1:04d}.png").write_bytes(data)
        os.replace(half, folder)


def still_png(film: Reel, u: float, height_px: int = 1080) -> bytes:
    """The take alone at a place, on nothing, as PNG. Raises PlatformFault."""
    return _png(bare_frame(film, u, height_px))


def write_film(
    film: Reel, folder: Path, name: str, kind: str, progress: Progress | None = None, mapper: Mapper = map
) -> Path:
    """Write a film of one of the ``KINDS`` into a folder, named after ``name`` and the kind; returns its place."""
    path = folder / f"{name}{KINDS[kind].ending}"
    write = {"gif": write_gif, "frames": write_frames}.get(kind, write_mp4)
    write(film, path, KINDS[kind], progress=progress, mapper=mapper)
    return path
