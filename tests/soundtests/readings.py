"""Levels that give known results: published field tests, turned back into what the meter read."""

THIRDS = [100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150]
# UK pre-completion tests of October 2022, filed with a public planning application: masonry wall, timber joist floor.
WALL_DNT = [40.8, 42.9, 47.3, 52.1, 56.6, 53.2, 55.8, 57.8, 59.3, 59.3, 58.6, 59.3, 59.2, 59.8, 61.6, 62.6]
WALL_RATED = {"weighted_db": 59, "c_db": -1, "ctr_db": -4}
FLOOR_LNT = [56.6, 58.8, 60.6, 59.9, 58.3, 52.6, 47.4, 46.7, 43.5, 42.3, 39.5, 40.1, 38.3, 38.6, 37.1, 35.3]
FLOOR_RATED = {"weighted_db": 52, "ci_db": -1}
SOURCE = [95.0] * 16


def received(dnt: list[float] = WALL_DNT) -> list[float]:
    """Receiving levels at a reverberation time of 0.5 s, where DnT is the plain level difference."""
    return [round(source - d, 1) for source, d in zip(SOURCE, dnt, strict=True)]


def details(room, **changes) -> dict[str, str]:
    made = {
        "room": str(room.pk),
        "source_room": "Next door's bedroom",
        "moment": "after",
        "measured_on": "2026-11-20",
        "measured_by": "A tester",
        "volume_m3": "31",
        "assumed_reverberation_s": "0.5",
    }
    return made | changes


def grid(**rows: list) -> dict[str, str]:
    """Posted cells: grid(source=SOURCE, receiving=…)."""
    return {f"{name}-{band}": str(value) for name, row in rows.items() for band, value in zip(THIRDS, row, strict=True)}
