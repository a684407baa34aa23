"""Before, after and predicted side by side for one room, and what the targets say to it. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from contractor.common.curves import OCTAVES_HZ
from contractor.soundtests.bridge import in_octaves
from contractor.soundtests.models import Kind, SoundTest, Target
from contractor.soundtests.table import THIRDS_HZ


@dataclass(frozen=True, kw_only=True)
class Curve:
    """Levels by band; `limited` marks bands that background noise limits; `spread_db` is the range by band, if any."""

    key: str
    name: str
    bands: list[int]
    levels_db: list[float]
    limited: list[bool]
    figure: str = ""
    spread_db: list[float] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class Judged:
    """A target beside a result: `met` is None where the range of the result holds the limit."""

    target: Target
    value_db: int
    spread_db: float
    met: bool

    @property
    def is_close(self) -> bool:
        """Whether another team's test might well say otherwise."""
        return abs(self.value_db - self.target.limit_db) < self.spread_db

    @property
    def words(self) -> str:
        if not self.is_close:
            return "Met" if self.met else "Not met"
        return "Met, but another test might not" if self.met else "Not met, but another test might"


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """One room and kind of sound. `rows` are (band, level by curve in order, None where a curve lacks the band)."""

    title: str
    kind: str
    curves: list[Curve]
    before: SoundTest | None
    after: SoundTest | None
    predicted: Mapping | None
    predicted_said: str

    @property
    def is_impact(self) -> bool:
        return self.kind == Kind.IMPACT

    @property
    def rows(self) -> list[tuple[int, list[tuple[float | None, bool]]]]:
        bands = self.curves[0].bands if self.curves else []
        found = []
        for band in bands:
            cells = []
            for curve in self.curves:
                at = curve.bands.index(band) if band in curve.bands else None
                cells.append((None, False) if at is None else (curve.levels_db[at], curve.limited[at]))
            found.append((band, cells))
        return found

    @property
    def gained_db(self) -> int | None:
        """Gain in the single number, the right way round for impact sound."""
        if self.before is None or self.after is None:
            return None
        gain = self.after.result["weighted_db"] - self.before.result["weighted_db"]
        return -gain if self.is_impact else gain

    @property
    def off_prediction_db(self) -> int | None:
        """Measured less predicted, after the work."""
        if self.after is None or self.predicted is None:
            return None
        return self.after.result["weighted_db"] - self.predicted["after"]["weighted_db"]

    @property
    def within_range(self) -> bool:
        off = self.off_prediction_db
        return off is not None and abs(off) <= self.predicted["after"]["uncertainty_db"]


def comparisons(tests: Sequence[SoundTest], predictions: Mapping[str, Mapping], said: str) -> list[Comparison]:
    """One for each room, kind and source room of the standard tests; of several the latest before and after count."""
    groups: dict[tuple, list[SoundTest]] = {}
    for test in tests:
        if test.is_standard:
            groups.setdefault((test.room_id, test.kind, test.source_room.strip().lower()), []).append(test)
    return [_comparison(group, predictions, said) for group in groups.values()]


def _comparison(group: list[SoundTest], predictions, said: str) -> Comparison:
    latest = {test.moment: test for test in group}
    before, after = (latest.get(moment) for moment in SoundTest.Moment.values)
    newest = group[-1]
    predicted = predictions.get(str(newest.room_id)) if newest.kind == Kind.AIRBORNE else None
    bands = (after or before).bands
    curves = [_measured(test, name) for test, name in ((before, "Before"), (after, "After")) if test]
    if predicted:
        curves.append(_predicted(predicted, bands))
    room = newest.room.name if newest.room else "A room no longer surveyed"
    return Comparison(
        title=f"{room}, from {newest.source_room}" + (": impact" if newest.kind == Kind.IMPACT else ""),
        kind=newest.kind,
        curves=curves,
        before=before,
        after=after,
        predicted=predicted,
        predicted_said=said if predicted else "",
    )


def _measured(test: SoundTest, name: str) -> Curve:
    result = test.result
    return Curve(
        key=test.moment,
        name=name,
        bands=result["bands"],
        levels_db=result["standardized_db"],
        limited=result["background_limited"],
        figure=f"{result['weighted_db']} dB",
    )


def _predicted(prediction: Mapping, bands: Sequence[int]) -> Curve:
    """The prediction for after the work, in octaves where the test was."""
    after = prediction["after"]
    levels, spread = after["standardized_db"], after["band_uncertainty_db"]
    of = list(THIRDS_HZ)
    if set(bands) <= set(OCTAVES_HZ) and len(bands) <= len(OCTAVES_HZ):
        of = list(OCTAVES_HZ)
        levels = in_octaves(levels)
        spread = [max(spread[3 * n : 3 * n + 3]) for n in range(len(of))]
    return Curve(
        key="predicted",
        name="Predicted",
        bands=of,
        levels_db=levels,
        limited=[False] * len(of),
        figure=f"{after['weighted_db']} ± {after['uncertainty_db']:.0f} dB",
        spread_db=spread,
    )


@dataclass(frozen=True, kw_only=True)
class Checked:
    """Two comparative checks of one room, before and after the work; never a test result. Of what both measured."""

    title: str
    before: SoundTest
    after: SoundTest
    rows: list[tuple[str, float, float, float, bool]]

    @property
    def is_limited(self) -> bool:
        return any(limited for *_, limited in self.rows)


def checks_compared(tests: Sequence[SoundTest]) -> list[Checked]:
    """A pair for each room and source room with a check before and one after, the latest of each; a row is (band or
    weighted level, difference in level before, after, by how much it grew, whether background noise limits either)."""
    groups: dict[tuple, dict[str, SoundTest]] = {}
    for test in tests:
        if not test.is_standard:
            groups.setdefault((test.room_id, test.source_room.strip().lower()), {})[test.moment] = test
    found = []
    for pair in groups.values():
        before, after = (pair.get(moment) for moment in SoundTest.Moment.values)
        if before and after:
            room = after.room.name if after.room else "A room no longer surveyed"
            title = f"{room}, from {after.source_room}: comparative check"
            found.append(Checked(title=title, before=before, after=after, rows=_check_rows(before, after)))
    return found


def _check_rows(before: SoundTest, after: SoundTest) -> list[tuple[str, float, float, float, bool]]:
    def by_band(test: SoundTest) -> dict:
        result = test.result
        levels = zip(result["difference_db"], result["background_limited"], strict=True)
        return dict(zip(result["bands"], levels, strict=True))

    was, now = by_band(before), by_band(after)
    return [
        (
            band_name(band),
            was[band][0],
            now[band][0],
            round(now[band][0] - was[band][0], 1),
            was[band][1] or now[band][1],
        )
        for band in now
        if band in was
    ]


def band_name(band: int | str) -> str:
    return f"{band:,}" if isinstance(band, int) else f"dB({band})"


def judged(test: SoundTest, targets: Sequence[Target]) -> list[Judged]:
    """Every target for this kind of sound beside the result; a comparative check is never judged."""
    if not test.is_standard:
        return []
    result = test.result
    found = []
    for target in targets:
        if target.is_impact != (test.kind == Kind.IMPACT):
            continue
        with_ctr = target.quantity == Target.Quantity.DNT_W_CTR
        value = result["weighted_db"] + (result["ctr_db"] if with_ctr else 0)
        met = value <= target.limit_db if target.is_impact else value >= target.limit_db
        found.append(Judged(target=target, value_db=value, spread_db=result["spread_db"], met=met))
    return found


def measured_alone(test: SoundTest) -> Comparison:
    """One test's own curve, for its page and its report; a comparative check draws its plain level differences."""
    result = test.result
    if test.is_standard:
        curve = _measured(test, "Measured")
    else:
        kept = [n for n, band in enumerate(result["bands"]) if isinstance(band, int)]
        curve = Curve(
            key=test.moment,
            name="Compared",
            bands=[result["bands"][n] for n in kept],
            levels_db=[result["difference_db"][n] for n in kept],
            limited=[result["background_limited"][n] for n in kept],
        )
    return Comparison(
        title=str(test),
        kind=test.kind,
        curves=[curve] if curve.bands else [],
        before=test if test.is_standard else None,
        after=None,
        predicted=None,
        predicted_said="",
    )


def band_rows(test: SoundTest) -> list[dict]:
    """A row for each band of one test: its name, level, apparent reduction if there is one, whether limited."""
    result = test.result
    bands = result["bands"]
    levels = result["standardized_db"] if test.is_standard else result["difference_db"]
    apparent = result.get("apparent_reduction_db") or [None] * len(bands)
    return [
        {"band": band_name(b), "level": level, "apparent": r, "limited": is_limited}
        for b, level, r, is_limited in zip(bands, levels, apparent, result["background_limited"], strict=True)
    ]
