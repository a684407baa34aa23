"""What each noise that the household told of will sound like: its words by rule, and its levels at the ear."""

import numpy as np

from acoustics import Prediction
from acoustics.audibility import (
    SOURCES,
    WALKER_UNCERTAINTY_DB,
    Audible,
    audible,
    audible_footsteps,
    footstep_levels_db,
    loudness_words,
    received_db,
)
from contractor.jobs.models import NoiseHeard
from contractor.rooms.models import Room, Surface

HEARD_AT = "evening"
NOTHING_HEARD = "not audible"
# Noises of an enquiry and the engine's sources that stand for them; others are no airborne noise it knows.
SOURCES_OF = {
    NoiseHeard.Kind.SPEECH: ("speech_normal", "speech_raised"),
    NoiseHeard.Kind.TELEVISION: ("television",),
    NoiseHeard.Kind.MUSIC: ("music_bass",),
    NoiseHeard.Kind.INSTRUMENT: ("music_bass",),
}
USUAL_SOURCES = ("speech_normal", "television", "music_bass")
BEYOND = {Surface.Face.WALL: "next door", Surface.Face.CEILING: "above", Surface.Face.FLOOR: "below"}


def heard_of(noises: list[NoiseHeard], room: Room, result: Prediction, impact: dict | None) -> dict:
    """`words`, a row for each noise told of, and `listen`, one for each that can be played; both in order.

    `impact` is what `impact_of` says of the floor above.
    """
    told = tuple(dict.fromkeys(source for noise in noises for source in SOURCES_OF.get(noise.kind, ())))
    place = _place(room)
    stepped = impact if impact and "before" in impact else None
    words = _words(told or USUAL_SOURCES, place, room, result)
    played = [_playable(key, place, room, result) for key in dict.fromkeys((*told, *USUAL_SOURCES))]
    if stepped:
        words.append(_footsteps_in_words(stepped, room))
        played.insert(len(told), _footsteps_played(stepped, room))
    for row in played:
        row["is_told_of"] = row["noise"] in told or row["noise"] == "footsteps"
    return {"words": words, "listen": played}


def _place(room: Room) -> str:
    separating = next(s for s in room.surfaces.all() if s.role == Surface.Role.SEPARATING)
    return BEYOND[separating.face]


def _words(sources: tuple[str, ...], place: str, room: Room, result: Prediction) -> list[dict]:
    """In the evening, for people of normal hearing."""
    sides = [
        audible(
            side.standardized_db,
            background_dba=HEARD_AT,
            reverberation_s=float(room.reverberation_s),
            uncertainty_db=side.uncertainty_db,
            sources=sources,
        )
        for side in (result.before, result.after)
    ]
    return [
        _row(f"{before.label} {place}, in the evening", before, after) for before, after in zip(*sides, strict=True)
    ]


def _footsteps_in_words(impact: dict, room: Room) -> dict:
    before, after = (
        audible_footsteps(
            side["standardized_db"],
            background_dba=HEARD_AT,
            reverberation_s=float(room.reverberation_s),
            uncertainty_db=side["uncertainty_db"],
        )
        for side in (impact["before"], impact["after"])
    )
    return _row("Footsteps above, in the evening", before, after)


def _row(noise: str, before: Audible, after: Audible) -> dict:
    return {
        "key": before.key,
        "noise": noise,
        "before": before.words,
        "after": after.words,
        "after_if_worse": after.words_if_worse,
        # Where nothing is left to be heard there is nothing to compare.
        "loudness": loudness_words(before.level_dba - after.level_dba) if after.words != NOTHING_HEARD else "",
        "before_dba": round(before.level_dba, 1),
        "after_dba": round(after.level_dba, 1),
    }


def _playable(key: str, place: str, room: Room, result: Prediction) -> dict:
    """Levels at the ear by band: where the noise is made, as it is, after the work, and at the low end of its range."""
    source = SOURCES[key]
    before, after = (
        received_db(source.levels_db, side.standardized_db, float(room.reverberation_s))
        for side in (result.before, result.after)
    )
    return {
        "noise": key,
        "label": f"{source.label} {place}",
        "source_db": _tenths(np.array(source.levels_db)),
        "before_db": _tenths(before),
        "after_db": _tenths(after),
        "low_end_db": _tenths(after + result.after.uncertainty_db),
    }


def _footsteps_played(impact: dict, room: Room) -> dict:
    before, after = (
        footstep_levels_db(side["standardized_db"], float(room.reverberation_s))
        for side in (impact["before"], impact["after"])
    )
    worse_by = float(np.hypot(impact["after"]["uncertainty_db"], WALKER_UNCERTAINTY_DB))
    return {
        "noise": "footsteps",
        "label": "Footsteps above",
        "source_db": None,
        "before_db": _tenths(before),
        "after_db": _tenths(after),
        "low_end_db": _tenths(after + worse_by),
    }


def _tenths(levels_db: np.ndarray) -> list[float]:
    return [round(float(level), 1) for level in levels_db]
