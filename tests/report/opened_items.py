"""What a picture holds, groups opened."""

from __future__ import annotations

from collections.abc import Iterator

from lobewright.picture.display import Group, Item


def opened(items: tuple[Item, ...]) -> Iterator[Item]:
    for item in items:
        if isinstance(item, Group):
            yield from opened(item.items)
        else:
            yield item
