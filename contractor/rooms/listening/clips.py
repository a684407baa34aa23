"""What can be played of a room, put together for the player: noise by noise, the places to hear it from."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

LEVELS_OF = {"source": "source_db", "before": "before_db", "after": "after_db", "low-end": "low_end_db"}
"""The name of a clip in its address, and the levels it is made from in a prediction's `listen` rows."""


@dataclass(frozen=True, kw_only=True)
class Clip:
    label: str
    address: str
    words: str = ""


@dataclass(frozen=True, kw_only=True)
class Noise:
    title: str
    is_told_of: bool
    clips: list[Clip]


@dataclass(frozen=True, kw_only=True)
class Heard:
    """One option's prediction of a room: its `listen` and `words` rows, and where its clips are found.

    `address` takes noise and name of a clip. `option` is the option's name where there is more than one.
    """

    listen: Sequence[Mapping]
    words: Iterable[Mapping]
    address: Callable[[str, str], str]
    option: str = ""


def room_to_listen_to(name: str, options: Sequence[Heard]) -> dict | None:
    """What the player shows of a room: its noises, each where it is made, now, and after the work of every option.

    Where nobody told of a noise, all of them stand first. None where there is nothing to play.
    """
    noises = [_noise(row, options) for row in options[0].listen] if options else []
    told_of = [noise for noise in noises if noise.is_told_of]
    others = [noise for noise in noises if not noise.is_told_of]
    return {"name": name, "told_of": told_of or others, "others": others if told_of else []} if noises else None


def levels_of(listen: Iterable[Mapping], noise: str, name: str) -> list[float] | None:
    """Band levels of a clip; None where there is no such clip."""
    row = next((row for row in listen if row["noise"] == noise), None)
    return row.get(LEVELS_OF[name]) if row and name in LEVELS_OF else None


def _noise(row: Mapping, options: Sequence[Heard]) -> Noise:
    noise, first = row["noise"], options[0]
    clips = []
    if row["source_db"] is not None:
        clips.append(Clip(label="Where it is made", address=first.address(noise, "source")))
    clips.append(
        Clip(label="In your room now", address=first.address(noise, "before"), words=_said(first, noise, "before"))
    )
    for option in options:
        if levels_of(option.listen, noise, "after") is None:
            continue
        of = f": {option.option}" if option.option else ""
        after = _said(option, noise, "after")
        at_worst = _said(option, noise, "at_worst") or _said(option, noise, "after_if_worse")
        clips.append(Clip(label=f"Afterwards{of}", address=option.address(noise, "after"), words=after))
        clips.append(
            Clip(
                label=f"Afterwards, low end of what we expect{of}",
                address=option.address(noise, "low-end"),
                words=at_worst or after,
            )
        )
    return Noise(title=row["label"], is_told_of=row["is_told_of"], clips=clips)


def _said(option: Heard, noise: str, when: str) -> str:
    """The words of a noise, where they were worked out; one that nobody told of has none."""
    row = next((row for row in option.words if row.get("key") == noise), None)
    return row.get(when, "") if row else ""
