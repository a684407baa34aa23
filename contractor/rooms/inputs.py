"""Everything that a prediction and a take-off are made from, read in a fixed number of queries, and its hash."""

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from decimal import Decimal

from django.db.models import Model, Prefetch, Q, QuerySet

from contractor.accounts.selectors import the_firm
from contractor.catalogue.models import (
    BuildUp,
    BuildUpFixing,
    BuildUpLayer,
    Climate,
    ConstructionLayer,
    HoldPoint,
    LabourAllowance,
    LabourFactor,
    Material,
)
from contractor.catalogue.selectors import climate_used
from contractor.jobs.models import Job, NoiseHeard
from contractor.offcuts.models import Offcut
from contractor.offcuts.selectors import reserved_for as offcuts_reserved_for
from contractor.rooms.models import Fixture, Opening, Patch, Room, Scheme, SidePath, Surface, Treatment
from contractor.rooms.rules.book import NAMES
from contractor.rooms.rules.sheet import RuleSheet, rule_sheet

# Columns that change no prediction and no amount.
DOCUMENT = 19  # raise when a kept calculation takes another form or is put together otherwise: all are made anew
PROSE = {"notes", "note", "summary", "origin", "use_when", "avoid_when", "plain_words", "tools", "wish", "made_at"}
PROSE |= {"supplier"}


@dataclass(frozen=True, kw_only=True)
class Choice:
    """What a scheme builds on one thing: the build-up with its layers, and how the boards run."""

    build_up: BuildUp
    boards_run: str = "vertical"


@dataclass(frozen=True, kw_only=True)
class Inputs:
    """`on_patch`, `on_opening` and `on_side_path` say by id what is built; everything else is the survey and the catalogue."""

    job: Job
    noises: list[NoiseHeard]
    rules: RuleSheet
    rooms: list[Room]
    on_patch: dict[int, Choice]
    on_side_path: dict[int, Choice]
    on_opening: dict[int, Choice] = field(default_factory=dict)
    climate: Climate | None = None
    stock: list[Material] = field(default_factory=list)
    factors: dict[str, LabourFactor] = field(default_factory=dict)
    allowances: dict[str, LabourAllowance] = field(default_factory=dict)
    offcuts: list[Offcut] = field(default_factory=list)
    uncertainty_factor: Decimal = Decimal(1)

    @property
    def surfaces(self) -> list[Surface]:
        return [surface for room in self.rooms for surface in room.surfaces.all()]


def surveyed_rooms(job: Job) -> list[Room]:
    """The job's rooms with surfaces, patches, openings, side paths and every construction down to its materials.

    Orders are given here because the models' own would join their parents, which are known.
    """
    layers = ConstructionLayer.objects.select_related("material").order_by("order")
    built_of = Prefetch("construction__layers", layers)
    patches = Patch.objects.order_by("-is_rest", "x_mm", "y_mm", "pk").select_related("construction")
    openings = Opening.objects.order_by("x_mm", "y_mm", "pk").select_related("construction")
    surfaces = Surface.objects.order_by("letter", "pk").select_related("far_construction", "finding")
    surfaces = surfaces.prefetch_related(
        Prefetch("patches", patches.prefetch_related(built_of)),
        Prefetch("openings", openings.prefetch_related(built_of)),
        Prefetch("fixtures", Fixture.objects.order_by("x_mm", "y_mm", "pk")),
        Prefetch("far_construction__layers", layers),
    )
    return list(
        Room.objects.filter(job=job).prefetch_related(
            Prefetch("surfaces", surfaces), Prefetch("side_paths", SidePath.objects.order_by("pk"))
        )
    )


def build_ups_with_layers():
    """Every build-up with what the bridge and the take-off read of it."""
    return BuildUp.objects.prefetch_related(
        Prefetch("layers", BuildUpLayer.objects.select_related("material").order_by("order")),
        Prefetch("fixings", BuildUpFixing.objects.select_related("material").order_by("pk")),
        Prefetch("hold_points", HoldPoint.objects.order_by("order")),
    )


def built_treatments() -> QuerySet[Treatment]:
    """Treatments with their build-ups down to the materials."""
    return Treatment.objects.order_by("pk").prefetch_related(Prefetch("build_up", build_ups_with_layers()))


def choices_of(treatments: Iterable[Treatment]) -> dict[str, dict[int, Choice]]:
    """What is built, as the fields of Inputs: by patch, by opening and by side path."""
    chosen = [(t, Choice(build_up=t.build_up, boards_run=t.boards_run)) for t in treatments]
    return {
        "on_patch": {t.patch_id: choice for t, choice in chosen if t.patch_id},
        "on_opening": {t.opening_id: choice for t, choice in chosen if t.opening_id},
        "on_side_path": {t.side_path_id: choice for t, choice in chosen if t.side_path_id},
    }


def gather(scheme: Scheme) -> Inputs:
    """What the scheme is worked out from. The number of queries is the same whatever the size of the job."""
    return replace(inputs_of(scheme.job), **choices_of(built_treatments().filter(scheme=scheme)))


def inputs_of(job: Job) -> Inputs:
    """Everything but choices."""
    return replace(
        inputs_to_predict(job),
        stock=list(Material.objects.filter(Q(form__in=["sheet", "length"]) | Q(kind="sealant")).order_by("pk")),
        factors={factor.key: factor for factor in LabourFactor.objects.all()},
        allowances={a.key: a for a in LabourAllowance.objects.select_related("rate")},
        offcuts=offcuts_reserved_for(job),
    )


def inputs_to_predict(
    job: Job,
    on_patch: dict[int, Choice] | None = None,
    on_side_path: dict[int, Choice] | None = None,
    on_opening: dict[int, Choice] | None = None,
) -> Inputs:
    """Enough for a prediction of choices that need not be saved; nothing to take off from."""
    noises = list(job.noises.all())
    return Inputs(
        job=job,
        noises=noises,
        rules=rule_sheet(job, noises),
        rooms=surveyed_rooms(job),
        on_patch=on_patch or {},
        on_side_path=on_side_path or {},
        on_opening=on_opening or {},
        climate=climate_used(),
        uncertainty_factor=the_firm().uncertainty_factor,
    )


def inputs_by_scheme(inputs: Inputs, schemes: Iterable[Scheme]) -> dict[int, Inputs]:
    """The same survey and catalogue with what each scheme chooses. `schemes` have their treatments loaded by
    `built_treatments`."""
    return {scheme.pk: replace(inputs, **choices_of(scheme.treatments.all())) for scheme in schemes}


def fingerprint(inputs: Inputs, engine_version: str) -> str:
    """SHA-256 of canonical JSON of every input: survey, choices, catalogue rows, prices, labour, engine."""
    constructions = {}
    for surface in inputs.surfaces:
        things = [*surface.patches.all(), *surface.openings.all()]
        for construction in [surface.far_construction, *(thing.construction for thing in things)]:
            if construction is not None:
                constructions[construction.pk] = construction
    choices = {**{f"patch {k}": c for k, c in inputs.on_patch.items()}}
    choices |= {f"opening {k}": c for k, c in inputs.on_opening.items()}
    choices |= {f"side path {k}": c for k, c in inputs.on_side_path.items()}
    facts = {
        "engine": engine_version,
        "document": DOCUMENT,
        "job": [inputs.job.is_occupied, inputs.job.storey],
        "noises": [_row(noise) for noise in inputs.noises],
        "rules": _rules(inputs.rules),
        "rooms": [_room(room) for room in inputs.rooms],
        "constructions": [_with(c, _layers(c)) for _, c in sorted(constructions.items())],
        "choices": {name: [_build_up(c.build_up), c.boards_run] for name, c in choices.items()},
        "uncertainty_factor": inputs.uncertainty_factor,
        "climate": _row(inputs.climate) if inputs.climate else None,
        "offcuts": [[o.label, o.material_id, o.width_mm, o.length_mm] for o in inputs.offcuts],
        "stock": [_row(material) for material in inputs.stock],
        "factors": {key: str(factor.factor) for key, factor in inputs.factors.items()},
        "allowances": {key: [str(a.hours_per_unit), a.rate.key] for key, a in inputs.allowances.items()},
    }
    text = json.dumps(facts, sort_keys=True, separators=(",", ":"), default=_plain)
    return hashlib.sha256(text.encode()).hexdigest()


def _row(row: Model) -> dict:
    """Every column of a row but its prose and whom it is bought from."""
    return {f.attname: getattr(row, f.attname) for f in row._meta.concrete_fields if f.name not in PROSE}


def _rules(sheet: RuleSheet) -> list:
    """What decides the preparation: the rules in force, what was found, what was set aside, and the home."""
    home = [sheet.home.built, sheet.home.kind, sheet.home.tenure, sheet.home.is_listed]
    aside = sorted([patch, key] for patch, key in sheet.overrides)
    findings = [_row(finding) for _, finding in sorted(sheet.findings.items())]
    rules = [[getattr(rule, name) for name in NAMES] for rule in sheet.in_force]
    return [rules, findings, aside, home]


def _with(row: Model, parts: list) -> list:
    return [_row(row), parts]


def _layers(owner) -> list:
    return [[_row(layer), _row(layer.material) if layer.material else None] for layer in owner.layers.all()]


def _build_up(build_up: BuildUp) -> list:
    fixings = [[_row(fixing), _row(fixing.material)] for fixing in build_up.fixings.all()]
    return [_row(build_up), _layers(build_up), fixings, [_row(hold) for hold in build_up.hold_points.all()]]


def _room(room: Room) -> list:
    surfaces = [
        _with(s, [[_row(part) for part in parts.all()] for parts in (s.patches, s.openings, s.fixtures)])
        for s in room.surfaces.all()
    ]
    side_paths: list[SidePath] = list(room.side_paths.all())
    return [_row(room), surfaces, [_row(path) for path in side_paths]]


def _plain(value) -> str:
    if isinstance(value, Decimal):
        return format(value.normalize(), "f")
    return str(value)
