"""Every address of the app, tried by nobody, a fitter, the office and the owner, against the table below.

A new address fails the first test until it has a row. A row is

    "app:name": Row(KEYS, STATUSES)              for a page that is read (GET)
    "app:name": Row(KEYS, STATUSES, post={...})  for an address that only takes a POST, with the data posted

KEYS is a function of `World` to the keys in the address (NO_KEYS where there are none); a thing that a row needs is a
cached property of World. STATUSES are those of nobody, fitter, office and owner in that order; a stranger's 302 must
lead to the sign-in page.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, time
from functools import cached_property
from uuid import uuid4

import pytest
from django.core.files.base import ContentFile
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from contractor.accounts.models import Firm, Role
from contractor.billing.models import Payment
from contractor.billing.selectors import account_of, contract_of
from contractor.billing.services import invoice_next, variation_send
from contractor.catalogue.models import Climate, LabourAllowance, LabourFactor, PriceList, Supplier
from contractor.common.files import Paper
from contractor.common.logos import Logo, keep_logo
from contractor.handover.services import completion_link_make, completion_make
from contractor.jobs import diary
from contractor.jobs.models import DayOff
from contractor.jobs.services import gate_update, noise_save
from contractor.offcuts.models import Offcut
from contractor.orders.models import MoreNeeded
from contractor.quotes.hand_services import extra_line_save, vat_set
from contractor.quotes.models import Discount, ExtraLine, LineOverride, VatBasis
from contractor.quotes.services import accept, send
from contractor.rooms.models import Rule
from contractor.site.models import SitePhoto
from contractor.site.services import act_take
from contractor.soundtests.models import SoundTest, Target
from contractor.soundtests.services import files_keep, keep_test, work_out
from contractor.weeks.services import calendar_link_make
from tests import factories
from tests.billing.conftest import drafted
from tests.conftest import signed_in
from tests.fitting.conftest import TAKEOFF, pack_for
from tests.orders.placed import ordered
from tests.quotes.results import calculated_scheme, stored_calculations, takeoff
from tests.soundtests.readings import SOURCE, THIRDS, received

ROLES = ("nobody", "fitter", "office", "owner")


class World:
    """What the addresses need, made when first asked for. `fitter` is sent to the job on site."""

    def __init__(self, fitter):
        self.fitter = fitter

    job = cached_property(lambda self: factories.JobFactory())
    noise = cached_property(lambda self: noise_save(job=self.job, kind="dog"))
    visit = cached_property(lambda self: factories.VisitFactory(job=self.job))
    day_off = cached_property(
        lambda self: DayOff.objects.create(first_day=date(2027, 1, 1), last_day=date(2027, 1, 1), reason="New Year")
    )
    diary = cached_property(lambda self: diary.link_new(job=self.job, by=factories.UserFactory()))

    @cached_property
    def entry(self):
        heard = {"heard_on": timezone.localdate(), "starts_at": time(22), "kind": "music"}
        return diary.entry_add(link=self.diary[0], **heard)

    @cached_property
    def paper(self):
        content = Paper(content=b"%PDF-1.7 %%EOF", ending="pdf", name="Report.pdf")
        return gate_update(job=self.job, kind="asbestos", by=None, need="needed", paper=content)

    person = cached_property(lambda self: factories.UserFactory())

    material = cached_property(lambda self: factories.MaterialFactory())
    supplier = cached_property(lambda self: Supplier.objects.create(name=uuid4().hex))
    price_list = cached_property(
        lambda self: PriceList.objects.create(
            supplier=self.supplier, name="List", text="Code,Price\nA,1.00", created_by=factories.UserFactory()
        )
    )
    construction = cached_property(lambda self: factories.ConstructionFactory())
    build_up = cached_property(lambda self: factories.BuildUpFactory())
    rate = cached_property(lambda self: factories.LabourRateFactory())
    climate = cached_property(
        lambda self: Climate.objects.create(
            key=uuid4().hex, name="Fen", temperature_c=[8] * 12, humidity_percent=[80] * 12
        )
    )
    factor = cached_property(lambda self: LabourFactor.objects.create(key=uuid4().hex, name="Small area", factor="1.2"))

    @cached_property
    def allowance(self):
        return LabourAllowance.objects.create(
            key=uuid4().hex, name="Strip", unit="m2", hours_per_unit=1, rate=self.rate
        )

    room = cached_property(lambda self: factories.RoomFactory(job=self.job))
    side_path = cached_property(lambda self: factories.SidePathFactory(room=self.room))
    opening = cached_property(lambda self: factories.OpeningFactory(surface=self.surface))
    fixture = cached_property(lambda self: factories.FixtureFactory(surface=self.surface))

    rule = cached_property(
        lambda self: Rule.objects.create(key=uuid4().hex, name="Old lime", effect="warn", reason="Ask first.")
    )
    override = cached_property(lambda self: factories.RuleOverrideFactory(patch=self.patch))
    photo = cached_property(lambda self: factories.PhotoFactory(room=self.room))

    @cached_property
    def surface(self):
        surface = factories.SurfaceFactory(room=self.room)
        factories.PatchFactory(surface=surface)
        return surface

    @cached_property
    def patch(self):
        sides = {"x_mm": 0, "y_mm": 0, "width_mm": 900, "height_mm": 900}
        return factories.PatchFactory(surface=self.surface, is_rest=False, name="Alcove", **sides)

    @cached_property
    def offcut(self):
        return Offcut.objects.create(label=uuid4().hex, material=self.material, length_mm=900, from_job=self.job)

    @cached_property
    def scheme(self):
        factories.LabourRateFactory()
        return calculated_scheme(self.job, takeoff_json=takeoff() | {"notices": []})

    @cached_property
    def line(self):
        return ExtraLine.objects.create(job=self.job, section="linings", description="Shelf", unit_price=10)

    @cached_property
    def vat_papers(self):
        """The papers behind the line's rate of VAT and the job's."""
        paper = Paper(content=b"%PDF-1.4\n%%EOF", ending="pdf", name="Letter.pdf")
        user, reduced = factories.UserFactory(), {"vat_percent": 5, "vat_reason": "other"}
        vat_set(job=self.job, basis=VatBasis(**reduced), is_standard=False, user=user, vat_paper=paper)
        return extra_line_save(line=self.line, user=user, vat_paper=paper)

    @cached_property
    def line_override(self):
        worked_out = {"line_key": "preliminaries", "line_name": "Setting up", "was_quantity": 1, "was_unit_price": 90}
        return LineOverride.objects.create(
            scheme=self.scheme, unit_price=80, reason="Next door", made_by=factories.UserFactory(), **worked_out
        )

    @cached_property
    def discount(self):
        return Discount.objects.create(job=self.job, percent=5, reason="Empty week", made_by=factories.UserFactory())

    @cached_property
    def sent(self):
        assert self.scheme
        return send(job=self.job, user=factories.UserFactory(), valid_days=30)

    @cached_property
    def question(self):
        return self.sent.revision.questions.create(link=self.sent.link, name="Ada", text="When?")

    @cached_property
    def logo(self):
        return keep_logo(Logo(content=b"drawn", width_px=1, height_px=1))[5:-4]

    pack = cached_property(lambda self: pack_for(TAKEOFF, self.fitter))
    order = cached_property(lambda self: ordered(self.pack.job))

    @cached_property
    def more_needed(self):
        by, what = factories.UserFactory(), {"packs": 1, "why": "One broke"}
        return MoreNeeded.objects.create(job=self.pack.job, material=self.material, made_by=by, **what)

    @cached_property
    def accepted(self):
        answer = {"typed_name": "Ada Holt", "agreed_terms": True, "early_start": False, "address": "", "browser": ""}
        accept(link=self.sent.link, option_key="1", **answer)
        return self.job

    @cached_property
    def variation(self):
        return drafted(self.accepted, factories.UserFactory())

    @cached_property
    def invoice(self):
        user = factories.UserFactory()
        Firm.objects.update_or_create(pk=1, defaults={"vat_number": "GB 000 0000 00"})
        stage = account_of(self.accepted, contract_of(self.accepted)).stages[0]
        return invoice_next(job=self.accepted, user=user, expected=stage.amount)

    @cached_property
    def payment(self):
        return Payment.objects.create(invoice=self.invoice, amount=1, created_by=factories.UserFactory())

    @cached_property
    def site_act(self):
        return act_take(
            key=uuid4(), job=self.pack.job, person=self.fitter, kind="dance", payload={}, done_at=timezone.now()
        )

    @cached_property
    def site_photo(self):
        photo = SitePhoto(key=uuid4(), job=self.pack.job, by=self.fitter, taken_at=timezone.now())
        for file in (photo.full, photo.small):
            file.save("photo.jpg", ContentFile(b"jpeg"), save=False)
        photo.save()
        return photo

    @cached_property
    def completion_token(self):
        user = factories.UserFactory()
        completion_make(job=self.job, by=user)
        return completion_link_make(job=self.job, by=user)

    @cached_property
    def readings(self):
        lines = "\n".join(f"{band};60" for band in THIRDS)
        return files_keep(job=self.job, files=[("meter.csv", lines)], by=factories.UserFactory())

    @cached_property
    def sound_test(self):
        test = SoundTest(job=self.job, room=self.room, source_room="Next door", measured_by="A tester", volume_m3=31)
        test.bands, test.readings = THIRDS, {"source": [SOURCE], "receiving": [received()]}
        work_out(test)
        return keep_test(test=test, by=factories.UserFactory())

    @cached_property
    def sound_target(self):
        return Target.objects.create(name=uuid4().hex, place="Here", quantity="dnt_w", limit_db=50, source="A wish")


@dataclass(frozen=True)
class Row:
    keys: Callable[[World], dict]
    statuses: tuple[int, int, int, int]
    post: dict | None = None


def NO_KEYS(world):
    return {}


def key(name: str, thing: str | None = None, attribute: str = "pk") -> Callable[[World], dict]:
    """KEYS with one key: key("room_id") is {"room_id": world.room.pk}."""
    return lambda world: {name: getattr(getattr(world, thing or name.removesuffix("_id")), attribute)}


def job_number(world):
    return {"number": world.job.number}


def customer_id(world):
    return {"customer_id": world.job.property.customer_id}


def order_keys(world: World) -> dict:
    return {"number": world.order.job.number, "order_number": world.order.number}


def site_number(world):
    return {"number": world.pack.job.number}


def survey_photo(world):
    return site_number(world) | {"photo_id": factories.PhotoFactory(room__job=world.pack.job).pk}


def token(world):
    return {"token": world.sent.token}


def accepted_number(world):
    return {"number": world.accepted.number}


def variation_line(world):
    return {"variation_id": world.variation.pk, "line_id": world.variation.lines.get().pk}


def completion_photo(world):
    photo = world.site_photo
    photo.about = world.pack.document["faces"][0]["steps"][0]["key"]
    photo.save()
    completion_make(job=photo.job, by=factories.UserFactory())
    return {"token": completion_link_make(job=photo.job, by=factories.UserFactory()), "key": photo.key}


def variation_token(world):
    return {"token": variation_send(variation=world.variation, user=factories.UserFactory())}


def variation_sent(world):
    variation_send(variation=world.variation, user=factories.UserFactory())
    return {"variation_id": world.variation.pk}


def variation_photo(world):
    photo, found = world.site_photo, world.variation
    found.act = world.site_act
    found.save()
    SitePhoto.objects.update(job=found.job, about=str(found.act.key))
    return variation_token(world) | {"key": photo.key}


PUBLIC = (200, 200, 200, 200)
SIGNED_IN = (302, 200, 200, 200)
OFFICE = (302, 403, 200, 200)
OWNER = (302, 403, 403, 200)
# What a POST that succeeds answers: it leads on.
OFFICE_ACTS = (302, 403, 302, 302)
SIGNED_IN_ACTS = (302, 302, 302, 302)

TABLE: dict[str, Row] = {
    "home": Row(NO_KEYS, (302, 302, 302, 302)),
    "healthz": Row(NO_KEYS, PUBLIC),
    # accounts
    "accounts:sign-in": Row(NO_KEYS, (200, 302, 302, 302)),
    "accounts:sign-out": Row(NO_KEYS, (302, 302, 302, 302), post={}),
    "accounts:me": Row(NO_KEYS, SIGNED_IN),
    "accounts:firm": Row(NO_KEYS, OFFICE),
    "accounts:firm-logo": Row(NO_KEYS, (302, 403, 403, 200), post={}),  # nothing chosen: the form again
    "accounts:logo": Row(lambda w: {"digest": w.logo}, PUBLIC),
    "accounts:people": Row(NO_KEYS, OWNER),
    "accounts:person-new": Row(NO_KEYS, OWNER),
    "accounts:person": Row(key("person_id"), OWNER),
    "accounts:person-password": Row(key("person_id"), OWNER, post={}),
    "accounts:record": Row(NO_KEYS, OWNER),
    # customers
    "customers:list": Row(NO_KEYS, OFFICE),
    "customers:new": Row(NO_KEYS, OFFICE),
    "customers:customer": Row(customer_id, OFFICE),
    "customers:edit": Row(customer_id, OFFICE),
    "customers:property-new": Row(customer_id, OFFICE),
    "customers:property-edit": Row(key("property_id", "job", "property_id"), OFFICE),
    # jobs
    "jobs:list": Row(NO_KEYS, OFFICE),
    "jobs:new": Row(NO_KEYS, OFFICE),
    "jobs:job": Row(job_number, OFFICE),
    "jobs:edit": Row(job_number, OFFICE),
    "jobs:stage": Row(job_number, OFFICE_ACTS, post={"to_stage": "surveyed"}),
    "jobs:noise-new": Row(job_number, OFFICE),
    "jobs:noise": Row(lambda w: job_number(w) | {"noise_id": w.noise.pk}, OFFICE),
    "jobs:noise-delete": Row(lambda w: job_number(w) | {"noise_id": w.noise.pk}, OFFICE_ACTS, post={}),
    "jobs:gate": Row(lambda w: job_number(w) | {"kind": "asbestos"}, OFFICE),
    "jobs:gate-paper": Row(lambda w: w.paper and job_number(w) | {"kind": "asbestos"}, OFFICE),
    "jobs:heard": Row(job_number, OFFICE),
    "jobs:heard-link-new": Row(job_number, OFFICE_ACTS, post={}),
    "jobs:heard-take-over": Row(lambda w: w.entry and job_number(w), OFFICE_ACTS, post={"kind": "music"}),
    "jobs:heard-delete": Row(lambda w: job_number(w) | {"entry_id": w.entry.pk}, OFFICE_ACTS, post={}),
    "jobs:heard-link-revoke": Row(lambda w: {"link_id": w.diary[0].pk}, OFFICE_ACTS, post={}),
    # the household's diary: whoever holds the link
    "jobs:household-diary": Row(lambda w: {"token": w.diary[1]}, PUBLIC),
    "jobs:household-diary-delete": Row(
        lambda w: {"token": w.diary[1], "entry_id": w.entry.pk}, (302, 302, 302, 302), post={}
    ),
    "jobs:programme": Row(job_number, OFFICE),
    "jobs:visit-new": Row(job_number, OFFICE),
    "jobs:visit": Row(lambda w: job_number(w) | {"visit_id": w.visit.pk}, OFFICE),
    "jobs:visit-delete": Row(lambda w: job_number(w) | {"visit_id": w.visit.pk}, OFFICE_ACTS, post={}),
    "jobs:diary": Row(NO_KEYS, OFFICE),
    # catalogue
    "catalogue:overview": Row(NO_KEYS, OFFICE),
    "catalogue:materials": Row(NO_KEYS, OFFICE),
    "catalogue:prices": Row(NO_KEYS, OFFICE),
    "catalogue:price-list-read": Row(NO_KEYS, OFFICE),
    "catalogue:price-list": Row(key("list_id", "price_list"), OFFICE),
    "catalogue:price-list-codes": Row(key("list_id", "price_list"), OFFICE_ACTS, post={}),
    "catalogue:material-new": Row(NO_KEYS, OFFICE),
    "catalogue:material": Row(key("material_id"), OFFICE),
    "catalogue:material-delete": Row(key("material_id"), OFFICE_ACTS, post={}),
    "catalogue:suppliers": Row(NO_KEYS, OFFICE),
    "catalogue:supplier-new": Row(NO_KEYS, OFFICE),
    "catalogue:supplier": Row(key("supplier_id"), OFFICE),
    "catalogue:supplier-delete": Row(key("supplier_id"), OFFICE_ACTS, post={}),
    "catalogue:constructions": Row(NO_KEYS, OFFICE),
    "catalogue:construction-new": Row(NO_KEYS, OFFICE),
    "catalogue:construction": Row(key("construction_id"), OFFICE),
    "catalogue:construction-edit": Row(key("construction_id"), OFFICE),
    "catalogue:construction-delete": Row(key("construction_id"), OFFICE_ACTS, post={}),
    "catalogue:build-ups": Row(NO_KEYS, OFFICE),
    "catalogue:build-up-new": Row(NO_KEYS, OFFICE),
    "catalogue:build-up": Row(key("build_up_id"), OFFICE),
    "catalogue:build-up-edit": Row(key("build_up_id"), OFFICE),
    "catalogue:build-up-delete": Row(key("build_up_id"), OFFICE_ACTS, post={}),
    "catalogue:labour": Row(NO_KEYS, OFFICE),
    "catalogue:labour-rate-new": Row(NO_KEYS, OFFICE),
    "catalogue:labour-rate": Row(key("rate_id"), OFFICE),
    "catalogue:labour-rate-delete": Row(key("rate_id"), OFFICE_ACTS, post={}),
    "catalogue:labour-allowance-new": Row(NO_KEYS, OFFICE),
    "catalogue:labour-allowance": Row(key("allowance_id"), OFFICE),
    "catalogue:labour-allowance-delete": Row(key("allowance_id"), OFFICE_ACTS, post={}),
    "catalogue:labour-factor-new": Row(NO_KEYS, OFFICE),
    "catalogue:labour-factor": Row(key("factor_id"), OFFICE),
    "catalogue:labour-factor-delete": Row(key("factor_id"), OFFICE_ACTS, post={}),
    "catalogue:climates": Row(NO_KEYS, OFFICE),
    "catalogue:climate-new": Row(NO_KEYS, OFFICE),
    "catalogue:climate": Row(key("climate_id"), OFFICE),
    "catalogue:climate-use": Row(key("climate_id"), OFFICE_ACTS, post={}),
    "catalogue:climate-delete": Row(key("climate_id"), OFFICE_ACTS, post={}),
    # rooms: the survey, the treatments and what is worked out
    "rooms:survey": Row(job_number, OFFICE),
    "rooms:room-new": Row(job_number, OFFICE),
    "rooms:room": Row(key("room_id"), OFFICE),
    "rooms:room-edit": Row(key("room_id"), OFFICE),
    "rooms:room-delete": Row(key("room_id"), OFFICE_ACTS, post={}),
    "rooms:surface-new": Row(key("room_id"), OFFICE),
    "rooms:surface": Row(key("surface_id"), OFFICE),
    "rooms:surface-delete": Row(key("surface_id"), OFFICE_ACTS, post={}),
    "rooms:patch-new": Row(key("surface_id"), OFFICE),
    "rooms:patch": Row(key("patch_id"), OFFICE),
    "rooms:patch-delete": Row(key("patch_id"), OFFICE_ACTS, post={}),
    "rooms:opening-new": Row(key("surface_id"), OFFICE),
    "rooms:opening": Row(key("opening_id"), OFFICE),
    "rooms:opening-delete": Row(key("opening_id"), OFFICE_ACTS, post={}),
    "rooms:fixture-new": Row(key("surface_id"), OFFICE),
    "rooms:fixture": Row(key("fixture_id"), OFFICE),
    "rooms:fixture-delete": Row(key("fixture_id"), OFFICE_ACTS, post={}),
    "rooms:strip-new": Row(key("surface_id"), OFFICE),
    "rooms:side-path-new": Row(key("room_id"), OFFICE),
    "rooms:side-path": Row(key("path_id", "side_path"), OFFICE),
    "rooms:side-path-delete": Row(key("path_id", "side_path"), OFFICE_ACTS, post={}),
    "rooms:rules": Row(NO_KEYS, OFFICE),
    "rooms:rule-new": Row(NO_KEYS, OFFICE),
    "rooms:rule": Row(lambda w: {"key": "little-depth"}, OFFICE),
    "rooms:rule-restore": Row(key("key", "rule", "key"), OFFICE_ACTS, post={}),
    "rooms:condition": Row(key("surface_id"), OFFICE),
    "rooms:rule-aside": Row(
        lambda w: {"surface_id": w.surface.pk, "patch_id": w.patch.pk, "key": "little-depth"}, OFFICE
    ),
    "rooms:opening-rule-aside": Row(lambda w: {"opening_id": w.opening.pk, "key": "door-keeps-its-air"}, OFFICE),
    "rooms:side-path-rule-aside": Row(lambda w: {"path_id": w.side_path.pk, "key": "gap-or-vent"}, OFFICE),
    "rooms:override-withdraw": Row(key("override_id"), OFFICE_ACTS, post={}),
    "rooms:photos": Row(key("room_id"), OFFICE),
    "rooms:photo": Row(key("photo_id"), OFFICE),
    "rooms:photo-full": Row(key("photo_id"), OFFICE),
    "rooms:photo-small": Row(key("photo_id"), OFFICE),
    "rooms:photo-delete": Row(key("photo_id"), OFFICE_ACTS, post={}),
    "rooms:schemes": Row(job_number, OFFICE),
    "rooms:scheme-new": Row(job_number, OFFICE),
    "rooms:scheme": Row(key("scheme_id"), OFFICE),
    "rooms:scheme-preview": Row(key("scheme_id"), OFFICE, post={}),
    "rooms:scheme-delete": Row(key("scheme_id"), OFFICE_ACTS, post={}),
    "rooms:prediction": Row(key("scheme_id"), OFFICE),
    "rooms:diagnosis": Row(job_number, OFFICE),
    "planning:plan": Row(job_number, OFFICE),
    "planning:options": Row(job_number, OFFICE_ACTS, post={}),
    "rooms:takeoff": Row(key("scheme_id"), OFFICE),
    "rooms:takeoff-state": Row(key("scheme_id"), (302, 403, 302, 302)),
    "rooms:takeoff-again": Row(key("scheme_id"), OFFICE_ACTS, post={}),
    "rooms:listen-reference": Row(NO_KEYS, PUBLIC),  # somebody talking: nothing of any job
    "rooms:listen": Row(
        lambda w: {"scheme_id": w.scheme.pk, "room": "1", "noise": "speech_normal", "name": "after"}, OFFICE
    ),
    # quotes, the office's side
    "quotes:quote": Row(job_number, OFFICE),
    "quotes:send": Row(
        lambda w: w.scheme and job_number(w), OFFICE_ACTS, post={"valid_days": "30", "after_number": "0"}
    ),
    "quotes:up-to-date": Row(job_number, OFFICE_ACTS, post={"seen": "another"}),
    "quotes:line-new": Row(job_number, OFFICE),
    "quotes:line": Row(key("line_id"), OFFICE),
    "quotes:line-vat-paper": Row(lambda w: {"line_id": w.vat_papers.pk}, OFFICE),
    "quotes:line-delete": Row(key("line_id"), OFFICE_ACTS, post={}),
    "quotes:line-override": Row(
        lambda w: job_number(w) | {"scheme_id": w.scheme.pk, "line_key": "preliminaries"}, OFFICE
    ),
    "quotes:override-take-back": Row(key("override_id", "line_override"), OFFICE_ACTS, post={}),
    "quotes:discount-new": Row(job_number, OFFICE),
    "quotes:discount": Row(key("discount_id"), OFFICE),
    "quotes:discount-delete": Row(key("discount_id"), OFFICE_ACTS, post={}),
    "quotes:vat": Row(job_number, OFFICE),
    "quotes:vat-paper": Row(lambda w: w.vat_papers and job_number(w), OFFICE),
    "quotes:against": Row(lambda w: {"revision_id": w.sent.revision.pk, "other_id": w.sent.revision.pk}, OFFICE),
    "quotes:against-draft": Row(lambda w: {"revision_id": w.sent.revision.pk}, OFFICE),
    "quotes:revision": Row(lambda w: {"revision_id": w.sent.revision.pk}, OFFICE),
    "quotes:revision-pdf": Row(lambda w: {"revision_id": w.sent.revision.pk}, OFFICE),
    "quotes:revision-shown": Row(lambda w: {"revision_id": w.sent.revision.pk}, OFFICE),
    "quotes:link-new": Row(lambda w: {"revision_id": w.sent.revision.pk}, OFFICE_ACTS, post={}),
    "quotes:proposals": Row(NO_KEYS, OFFICE),
    "quotes:question": Row(key("question_id"), OFFICE),
    "quotes:link-revoke": Row(lambda w: {"link_id": w.sent.revision.links.get().pk}, OFFICE_ACTS, post={}),
    # quotes, the homeowner's side: whoever holds the link
    "quotes:proposal": Row(token, PUBLIC),
    "quotes:proposal-pdf": Row(token, PUBLIC),
    "quotes:proposal-listen": Row(
        lambda w: token(w) | {"option": "1", "room": 0, "noise": "speech_normal", "name": "after"}, PUBLIC
    ),
    "quotes:proposal-ask": Row(token, PUBLIC, post={}),  # an empty form: the letter again, with the errors
    "quotes:proposal-accept": Row(token, PUBLIC, post={}),  # an empty form: the letter again, with the errors
    "quotes:proposal-decline": Row(token, (302, 302, 302, 302), post={}),
    # e-mails
    "mail:outbox": Row(job_number, OFFICE),
    "mail:message": Row(lambda w: {"message_id": w.sent.revision.job.messages.get().pk}, OFFICE),
    "mail:again": Row(lambda w: {"message_id": w.sent.revision.job.messages.get().pk}, OFFICE_ACTS, post={}),
    # offcuts
    "offcuts:store": Row(NO_KEYS, OFFICE),
    "offcuts:discard": Row(key("offcut_id"), OFFICE_ACTS, post={}),
    "offcuts:for-job": Row(job_number, OFFICE),
    # orders
    "orders:orders": Row(lambda w: w.scheme and job_number(w), OFFICE),
    "orders:table": Row(site_number, OFFICE),
    "orders:pdf": Row(site_number, OFFICE),
    "orders:place": Row(lambda w: site_number(w) | {"supplier": "none"}, OFFICE),
    "orders:more": Row(site_number, OFFICE, post={}),  # an empty form: errors
    "orders:more-remove": Row(
        lambda w: {"number": w.more_needed.job.number, "more_id": w.more_needed.pk}, OFFICE_ACTS, post={}
    ),
    "orders:order": Row(order_keys, OFFICE),
    "orders:cancel": Row(order_keys, OFFICE, post={}),  # an empty form: errors
    "orders:deliveries": Row(site_number, SIGNED_IN),
    "orders:count": Row(site_number, SIGNED_IN_ACTS, post={}),
    "orders:count-all": Row(site_number, SIGNED_IN_ACTS, post={}),
    "orders:used": Row(site_number, SIGNED_IN),
    "orders:say": Row(site_number, SIGNED_IN_ACTS, post={}),
    # the week
    "weeks:week": Row(NO_KEYS, OFFICE),
    "weeks:move": Row(key("visit_id"), OFFICE_ACTS, post={"on_date": "2026-12-01"}),
    "weeks:days-off": Row(NO_KEYS, OFFICE),
    "weeks:bank-holidays": Row(NO_KEYS, OFFICE_ACTS, post={"year": "2027"}),
    "weeks:day-off": Row(key("day_off_id", "day_off"), OFFICE),
    "weeks:day-off-delete": Row(key("day_off_id", "day_off"), OFFICE_ACTS, post={}),
    "weeks:days": Row(job_number, OFFICE),
    "weeks:calendar": Row(NO_KEYS, SIGNED_IN),
    "weeks:feed": Row(lambda w: {"token": calendar_link_make(person=factories.UserFactory())}, PUBLIC),
    # sound tests
    "sound:tests": Row(job_number, OFFICE),
    "sound:new": Row(job_number, OFFICE),
    "sound:read": Row(job_number, OFFICE),
    "sound:columns": Row(lambda w: {"batch": w.readings}, OFFICE),
    "sound:test": Row(key("test_id", "sound_test"), OFFICE),
    "sound:edit": Row(key("test_id", "sound_test"), OFFICE),
    "sound:delete": Row(key("test_id", "sound_test"), OFFICE_ACTS, post={}),
    "sound:pdf": Row(key("test_id", "sound_test"), OFFICE),
    "sound:targets": Row(NO_KEYS, OFFICE),
    "sound:target-new": Row(NO_KEYS, OFFICE),
    "sound:target": Row(key("target_id", "sound_target"), OFFICE),
    "sound:target-delete": Row(key("target_id", "sound_target"), OFFICE_ACTS, post={}),
    # money
    "billing:money": Row(job_number, OFFICE),
    "billing:stages": Row(accepted_number, OFFICE),
    "billing:invoice-next": Row(accepted_number, OFFICE_ACTS, post={"amount": "1.00"}),
    "billing:variation-new": Row(job_number, OFFICE),
    "billing:variation": Row(key("variation_id"), OFFICE),
    "billing:variation-pdf": Row(variation_sent, OFFICE),
    "billing:variation-edit": Row(key("variation_id"), OFFICE),
    "billing:variation-send": Row(key("variation_id"), OFFICE_ACTS, post={}),
    "billing:variation-withdraw": Row(key("variation_id"), OFFICE_ACTS, post={}),
    "billing:line-new": Row(key("variation_id"), OFFICE),
    "billing:line": Row(variation_line, OFFICE),
    "billing:line-delete": Row(variation_line, OFFICE_ACTS, post={}),
    "billing:invoice": Row(key("invoice_id"), OFFICE),
    "billing:invoice-pdf": Row(key("invoice_id"), OFFICE),
    "billing:invoice-send": Row(key("invoice_id"), OFFICE_ACTS, post={}),
    "billing:invoice-credit": Row(key("invoice_id"), OFFICE_ACTS, post={"reason": "Name"}),
    "billing:payment-back": Row(key("invoice_id"), OFFICE, post={}),  # an empty form: the invoice with the errors
    "billing:set-off": Row(key("invoice_id"), OFFICE, post={}),
    "billing:payment-take-back": Row(key("payment_id"), OFFICE_ACTS, post={}),
    "billing:statement-pdf": Row(accepted_number, OFFICE),
    "billing:statement-send": Row(accepted_number, OFFICE_ACTS, post={}),
    "billing:books": Row(NO_KEYS, OFFICE),
    "billing:settings": Row(NO_KEYS, OFFICE),
    "billing:table": Row(lambda w: {"what": "invoices"}, OFFICE),
    "billing:letter": Row(variation_token, PUBLIC),
    "billing:letter-pdf": Row(variation_token, PUBLIC),
    "billing:letter-photo": Row(variation_photo, PUBLIC),
    "billing:approve": Row(variation_token, PUBLIC, post={}),  # an empty form: the letter again, with the errors
    "billing:decline": Row(variation_token, (302, 302, 302, 302), post={}),
    # the site: what phones ask for and send; the fitter is sent there
    "site:hello": Row(NO_KEYS, (401, 200, 200, 200)),
    "site:acts": Row(NO_KEYS, (401, 412, 412, 412), post={}),  # whose acts they are is said in a header
    "site:pages": Row(NO_KEYS, SIGNED_IN),
    "site:looked-at": Row(key("act_id", "site_act"), OFFICE_ACTS, post={}),
    "site:photo": Row(lambda w: {"key": w.site_photo.key}, SIGNED_IN),
    "site:photo-small": Row(lambda w: {"key": w.site_photo.key}, SIGNED_IN),
    "site:photo-piece": Row(lambda w: site_number(w) | {"key": uuid4()}, (401, 412, 412, 412), post={}),
    "site:notes": Row(site_number, SIGNED_IN),
    "site:note-act": Row(lambda w: site_number(w) | {"kind": "note"}, SIGNED_IN, post={}),  # an empty form: errors
    "site:manifest": Row(NO_KEYS, PUBLIC),
    "site:worker": Row(NO_KEYS, PUBLIC),
    # completion
    "handover:completion": Row(job_number, OFFICE),
    "handover:make": Row(job_number, OFFICE_ACTS, post={}),
    "handover:link": Row(job_number, OFFICE_ACTS, post={"make": ""}),
    "handover:office-pdf": Row(lambda w: w.completion_token and job_number(w), OFFICE),
    "handover:pack": Row(lambda w: {"token": w.completion_token}, PUBLIC),
    "handover:pack-pdf": Row(lambda w: {"token": w.completion_token}, PUBLIC),
    "handover:photo": Row(completion_photo, PUBLIC),
    # what the firm learns
    "learning:sound": Row(NO_KEYS, OWNER),
    "learning:hours": Row(NO_KEYS, OWNER),
    "learning:pipeline": Row(NO_KEYS, OWNER),
    "learning:switch": Row(NO_KEYS, (302, 403, 403, 302), post={"learn": "off"}),
    # fitting; the fitter is sent to this job
    "fitting:today": Row(NO_KEYS, SIGNED_IN),
    "fitting:pack": Row(site_number, SIGNED_IN),
    "fitting:make": Row(site_number, OFFICE_ACTS, post={}),
    "fitting:tick": Row(site_number, SIGNED_IN_ACTS, post={"key": "cut:p12-1:7:L1-B-02", "done": "1"}),
    "fitting:pack-pdf": Row(site_number, SIGNED_IN),
    "fitting:left": Row(site_number, SIGNED_IN),
    "fitting:survey-photo": Row(survey_photo, SIGNED_IN),
    "fitting:survey-photo-small": Row(survey_photo, SIGNED_IN),
    "fitting:cuts": Row(site_number, SIGNED_IN),
    "fitting:measure": Row(lambda w: site_number(w) | {"key": "p12-1"}, SIGNED_IN, post={}),  # an empty form: errors
    "fitting:changes": Row(lambda w: site_number(w) | {"key": "p12-1"}, SIGNED_IN),
    "fitting:cut-face": Row(lambda w: site_number(w) | {"key": "p12-1"}, SIGNED_IN),
}

# Where a stranger is not sent to the sign-in page: to the letter whose link they hold.
LEADS_ELSEWHERE = {"quotes:proposal-decline", "jobs:household-diary-delete", "billing:decline"}


def names(patterns=None, prefix="") -> list[str]:
    """The full names of all URL patterns."""
    collected = []
    for pattern in get_resolver().url_patterns if patterns is None else patterns:
        if isinstance(pattern, URLResolver):
            inner = f"{prefix}{pattern.namespace}:" if pattern.namespace else prefix
            collected += names(pattern.url_patterns, inner)
        else:
            assert isinstance(pattern, URLPattern)
            collected.append(f"{prefix}{pattern.name}")
    return collected


def test_the_table_and_the_addresses_agree():
    assert sorted(TABLE) == sorted(names())


@pytest.fixture
def clients(stranger, fitter, office, owner, monkeypatch):
    """A client of each role. Calculations are taken as they stand: who may see them is the question here."""
    monkeypatch.setattr("contractor.quotes.mail.proposal_pdf", lambda revision, decision: b"%PDF")
    monkeypatch.setattr("contractor.rooms.services.calculate", lambda *, scheme: scheme.calculation)
    monkeypatch.setattr("contractor.rooms.services.calculate_all", stored_calculations)
    return dict(zip(ROLES, (stranger, fitter, office, owner), strict=True))


def address(name: str, clients: dict, world: World | None = None) -> str:
    """The address of a row, of a fresh world unless one is given."""
    return reverse(name, kwargs=TABLE[name].keys(world or World(clients["fitter"].user)))


def ask(client, name: str, clients: dict):
    """(address, answer) of a fresh thing for this row, as the row asks for it."""
    row, url = TABLE[name], address(name, clients)
    return url, client.get(url) if row.post is None else client.post(url, row.post)


@pytest.mark.parametrize("name", TABLE)
def test_each_role_gets_what_the_table_says(name, clients):
    answers = {role: ask(client, name, clients) for role, client in clients.items()}

    assert tuple(answer.status_code for _, answer in answers.values()) == TABLE[name].statuses
    url, answer = answers["nobody"]
    if answer.status_code == 302 and name not in LEADS_ELSEWHERE:
        assert answer.url in (f"/sign-in/?next={url}", "/sign-in/")


@pytest.mark.parametrize("name", [name for name, row in TABLE.items() if row.post is None and row.statuses != PUBLIC])
def test_who_may_not_read_a_page_may_not_post_to_it(name, clients):
    for role, expected in zip(ROLES, TABLE[name].statuses, strict=True):
        if expected != 200:
            assert clients[role].post(address(name, clients), {}).status_code in (expected, 405), role


@pytest.mark.parametrize(
    "name", [name for name in TABLE if name.startswith("fitting:") and TABLE[name].keys is not NO_KEYS]
)
def test_a_fitter_who_is_not_sent_there_finds_no_job(name, clients):
    url = address(name, clients)
    elsewhere = signed_in(factories.UserFactory(role=Role.FITTER))
    response = elsewhere.get(url) if TABLE[name].post is None else elsewhere.post(url, TABLE[name].post)
    assert response.status_code == (403 if name == "fitting:make" else 404)
