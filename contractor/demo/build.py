"""Puts the scenario into the database, through the same services that people use wherever they change state."""

from contextlib import contextmanager
from datetime import date, time, timedelta
from decimal import Decimal

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from contractor.accounts.models import Firm, User
from contractor.accounts.services import firm_logo_set
from contractor.catalogue.models import BuildUp, Construction
from contractor.catalogue.services import supplier_save
from contractor.common.logos import clean_logo
from contractor.customers.services import customer_save, property_save
from contractor.demo import after, goods, quoting, scenario
from contractor.demo.found import add_found
from contractor.demo.loft import loft_room
from contractor.demo.logo import drawn_logo
from contractor.demo.office import days_off, price_list
from contractor.fitting.locks import asked_of
from contractor.fitting.pack import rows_of
from contractor.fitting.selectors import parts_left, ticks_of
from contractor.fitting.services import set_tick, store_left_over
from contractor.handover.services import completion_make
from contractor.jobs.models import Job, Stage
from contractor.jobs.services import gate_update, job_create, noise_save, stage_change, visit_book
from contractor.mail.services import deliver_due
from contractor.quotes import services as quotes
from contractor.quotes.asking import question_answer, question_ask
from contractor.quotes.models import ExtraLine, ProposalLink
from contractor.rooms import services as rooms
from contractor.rooms.models import Fixture, Opening, Patch, Room, Scheme, SidePath, Surface, Treatment

BROWSER = "Demonstration data, loaded by the firm"


def build() -> str:
    """Fill an empty installation. Returns the token of the proposal that awaits an answer."""
    people = _people()
    office = people["idris"]
    for supplier in scenario.SUPPLIERS:
        supplier_save(by=office, **supplier)
    price_list(office)
    days_off(people)
    token = ""
    for plan in scenario.JOBS:
        job = _survey(plan, office)
        token = _carry_on(plan, job, people) or token
    return token


@transaction.atomic
def _people() -> dict[str, User]:
    Firm.objects.update_or_create(pk=1, defaults=scenario.FIRM)
    people = {
        name: User.objects.create(
            username=name, first_name=first, last_name=last, role=role, phone=phone, email=f"{name}@larkfold.example"
        )
        for name, first, last, role, phone in scenario.PEOPLE
    }
    firm_logo_set(by=people["tamsin"], logo=clean_logo(drawn_logo()))
    return people


@transaction.atomic
def _survey(plan: dict, office: User) -> Job:
    name, email, phone = plan["customer"]
    customer = customer_save(by=office, name=name, email=email, phone=phone)
    home = property_save(by=office, customer=customer, **plan["home"])
    job = job_create(
        property=home,
        by=office,
        title=plan["title"],
        wish=plan["wish"],
        storey=plan["storey"],
        budget=plan["budget"] and Decimal(plan["budget"]),
    )
    for noise in plan["noises"]:
        noise_save(job=job, **noise)
    today = timezone.localdate()
    for kind, (need, evidence, who, days) in plan["gates"].items():
        cleared_on = today + timedelta(days=days) if days is not None else None
        gate_update(job=job, kind=kind, by=office, need=need, evidence=evidence, cleared_by=who, cleared_on=cleared_on)
    for room in plan["rooms"]:
        _room(job, room)
    if plan.get("walked") == "loft":
        loft_room(job, office)
    add_found(job, office)
    for position, (title, summary, treatments) in enumerate(plan["schemes"], start=1):
        _scheme(job, position, title, summary, treatments)
    for section, description, quantity, unit, price in plan["extras"]:
        ExtraLine.objects.create(
            job=job, section=section, description=description, quantity=quantity, unit=unit, unit_price=price
        )
    for section, description, about, price in plan.get("offers", []):
        ExtraLine.objects.create(
            job=job, section=section, description=description, about=about, unit_price=price, is_optional=True
        )
    return job


def _construction(key: str | None) -> Construction | None:
    return Construction.objects.get(key=key) if key else None


def _room(job: Job, plan: dict) -> None:
    length, width, height = plan["size"]
    room = Room.objects.create(job=job, name=plan["name"], length_mm=length, width_mm=width, height_mm=height)
    for part in plan["surfaces"]:
        part_height = part.get("height", height)
        junction = part.get("junction", "")
        boxes = part.get("boxes", 0)  # a number, or where each is
        surface = Surface.objects.create(
            room=room,
            letter=part["letter"],
            name=part["name"],
            face=part.get("face", "wall"),
            role=part["role"],
            length_mm=part["length"],
            height_mm=part_height,
            boxes=len(boxes) if isinstance(boxes, list) else boxes,
            junction=junction,
            junction_length_mm=part.get("junction_length", part_height) if junction else None,
        )
        Patch.objects.create(
            surface=surface,
            name="Rest" if "patches" in part else "All of it",
            is_rest=True,
            construction=_construction(part["construction"]),
            condition=part["condition"],
            depth_limit_mm=part.get("depth"),
        )
        for name, x, y, wide, high, projection, built, condition, depth in part.get("patches", []):
            Patch.objects.create(
                surface=surface, name=name, x_mm=x, y_mm=y, width_mm=wide, height_mm=high, projection_mm=projection,
                construction=_construction(built), condition=condition, depth_limit_mm=depth,
            )  # fmt: skip
        for kind, x, y, wide, high, built in part.get("openings", []):
            Opening.objects.create(
                surface=surface, kind=kind, x_mm=x, y_mm=y, width_mm=wide, height_mm=high,
                construction=_construction(built),
            )  # fmt: skip
        for kind, x, y, wide, high in boxes if isinstance(boxes, list) else []:
            Fixture.objects.create(surface=surface, kind=kind, x_mm=x, y_mm=y, width_mm=wide, height_mm=high)
    for path in plan["side_paths"]:
        SidePath.objects.create(room=room, **path)


def _scheme(job: Job, position: int, name: str, summary: str, treatments: dict[str, str]) -> None:
    scheme = Scheme.objects.create(job=job, position=position, name=name, summary=summary)
    for where, key in treatments.items():
        build_up = BuildUp.objects.get(key=key)
        path = SidePath.objects.filter(room__job=job, name=where).first()
        if path:
            Treatment.objects.create(scheme=scheme, side_path=path, build_up=build_up)
            continue
        letter, _, patch_name = where.partition("/")
        patches = Patch.objects.filter(surface__room__job=job, surface__letter=letter)
        patch = patches.get(name=patch_name) if patch_name else patches.get(is_rest=True)
        Treatment.objects.create(scheme=scheme, patch=patch, build_up=build_up)


def _carry_on(plan: dict, job: Job, people: dict[str, User]) -> str:
    """Move a surveyed job to where the scenario has it. Returns the token of a quote left unanswered."""
    office, ends = people["idris"], plan["ends"]
    if ends == Stage.ENQUIRY:
        return ""
    if ends == Stage.LOST:
        stage_change(job=job, to_stage=Stage.LOST, by=office, note=plan["note"])
        return ""
    stage_change(job=job, to_stage=Stage.SURVEY_BOOKED, by=office)
    if ends == Stage.SURVEY_BOOKED:
        _book(plan, job, people)
        return ""
    stage_change(job=job, to_stage=Stage.SURVEYED, by=office)
    if ends == Stage.SURVEYED:
        return ""
    for scheme in job.schemes.all():
        rooms.calculate_well(scheme=scheme)
    with _no_mail():
        sent = quotes.send(job=job, user=office, valid_days=30, leave_out_unpriced=True)
        if ends == Stage.SENT:
            sent = quoting.sent_again(job, office)
            _ask(plan, sent, office)
            quoting.changed_since(job, office)
            return sent.token
        _accept(plan, job, sent)
    job.refresh_from_db()
    _book(plan, job, people)
    goods.ordered(job, office, is_done=ends == Stage.COMPLETE, person=people["beatriz"])
    _tick(job, people["beatriz"], plan["ticks"])
    job.refresh_from_db()
    after.sound_test(job, office, "before", 40)
    if ends == Stage.COMPLETE:
        _keep_offcuts(job, people["beatriz"])
        after.hours_kept(job, [people["beatriz"], people["jonty"]], days=4, days_ago=3)
        stage_change(job=job, to_stage=Stage.COMPLETE, by=office)
        after.sound_test(job, office, "after", 2)
        completion_make(job=job, by=office)
        after.settled(job, office)
    else:
        after.site_day(job, people["jonty"])
        with _no_mail():
            after.money(job, office, people["jonty"])
    return ""


def _ask(plan: dict, sent: quotes.Sent, office: User) -> None:
    """The household's questions; those with an answer are answered."""
    for text, answer in plan["questions"]:
        question = question_ask(link=sent.link, name=plan["customer"][0], text=text, address="127.0.0.1")
        if answer:
            question_answer(question=question, text=answer, by=office)


def _accept(plan: dict, job: Job, sent: quotes.Sent) -> None:
    option = next(o for o in sent.revision.document["options"] if o["name"] == plan["accepts"])
    quotes.accept(
        link=ProposalLink.objects.select_related("revision").get(pk=sent.link.pk),
        option_key=option["key"],
        extra_keys=[extra["key"] for extra in option["extras"] if extra["description"] in plan.get("takes", [])],
        typed_name=job.property.customer.name,
        agreed_terms=True,
        early_start=True,
        address="127.0.0.1",
        browser=BROWSER,
    )


def _book(plan: dict, job: Job, people: dict[str, User]) -> None:
    today: date = timezone.localdate()
    for days, names in plan["visits"]:
        visit_book(
            job=job,
            by=people["idris"],
            purpose=plan.get("purpose", "fitting"),
            on_date=_working_day(today, days),
            starts_at=time(8, 0),
            people=[people[n] for n in names],
        )


def _working_day(today: date, days: int) -> date:
    """So many working days from today, Monday to Friday; back from today, plain days."""
    on = today + timedelta(days=min(days, 0))
    for _ in range(days):
        on += timedelta(days=3 if on.weekday() == 4 else 2 if on.weekday() == 5 else 1)
    return on


def _tick(job: Job, person: User, count: int) -> None:
    """The first `count` steps done, in order of work; with all of them, everything that can be ticked."""
    document = job.work_pack.document
    rows = rows_of(document)
    photos = {key: count for face in document["faces"] for key, count in asked_of(face).items()}
    steps = [key for key in rows if key.startswith("step:")]
    for key in rows if count >= len(steps) else steps[:count]:
        for _ in range(photos.get(key, 0)):
            after.photograph(job, person, key)
        set_tick(pack=job.work_pack, key=key, is_done=True, user=person)


def _keep_offcuts(job: Job, person: User) -> None:
    """What is left of a finished job goes into the store; a length has been trodden on."""
    rows, _ = parts_left(job.work_pack, ticks_of(job.work_pack))
    conditions = {row["label"]: "good" if row["width_mm"] else "damaged" for row in rows}
    store_left_over(pack=job.work_pack, rows=rows, conditions=conditions, user=person)


@contextmanager
def _no_mail():
    """Invented people get no letters: mail goes nowhere while the demo is built."""
    before = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = "django.core.mail.backends.dummy.EmailBackend"
    try:
        yield
        deliver_due()
    finally:
        settings.EMAIL_BACKEND = before
