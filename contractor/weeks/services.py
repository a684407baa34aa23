"""What moves visits about the week, books a job's days, and makes the keys of calendar feeds."""

from collections.abc import Iterable
from datetime import date, time

from django.db import transaction
from django.utils import timezone

from contractor.accounts.models import Firm, User
from contractor.accounts.services import record
from contractor.common.links import new_token, token_hash
from contractor.jobs.models import DayOff, Job, Visit
from contractor.jobs.services import visit_book, visit_update
from contractor.weeks.holidays import bank_holidays
from contractor.weeks.laying import Planned
from contractor.weeks.models import CalendarLink


@transaction.atomic
def visit_move(*, visit: Visit, on_date: date, by: User, from_person: User | None, to_person: User | None) -> Visit:
    """Put a visit on another day, and where another person is named, give it from one to the other.

    Raises ValidationError for the reasons that booking one does.
    """
    people = set(visit.people.all())
    if from_person != to_person:
        people = (people - {from_person}) | {to_person} if to_person else people - {from_person}
    return visit_update(visit=visit, by=by, people=people, on_date=on_date)


@transaction.atomic
def days_book(*, job: Job, planned: Iterable[Planned], starts_at: time, people: Iterable[User], by: User) -> int:
    """Book every day of work among `planned`; how many. Raises ValidationError, and books none, where one is refused."""
    people = list(people)
    booked = 0
    for day in planned:
        if day.is_work:
            note = f"{day.trade}: {day.note}" if day.trade else day.note
            visit_book(
                job=job, by=by, purpose=Visit.Purpose.FITTING, on_date=day.on_date, starts_at=starts_at, people=people,
                note=note[:200],
            )  # fmt: skip
            booked += 1
    return booked


@transaction.atomic
def day_off_save(*, day_off: DayOff, by: User) -> DayOff:
    day_off.full_clean()
    day_off.save()
    who = day_off.person.display_name if day_off.person else "the firm"
    record(user=by, action="Days off saved", subject=day_off, who=who, until=str(day_off.last_day))
    return day_off


@transaction.atomic
def day_off_delete(*, day_off: DayOff, by: User) -> None:
    record(user=by, action="Days off deleted", subject=day_off)
    day_off.delete()


@transaction.atomic
def bank_holidays_add(*, year: int, by: User) -> int:
    """Close the firm on the year's bank holidays; how many days are new. A day on which it is closed already stays."""
    list(Firm.objects.select_for_update().filter(pk=1))  # two who press at once wait for each other
    ranges = DayOff.objects.filter(person=None, last_day__year__gte=year, first_day__year__lte=year)
    closed = {day for entry in ranges for day in entry.days}
    new = [DayOff(first_day=day, last_day=day, reason=name) for day, name in bank_holidays(year) if day not in closed]
    DayOff.objects.bulk_create(new)
    if new:
        record(user=by, action="Bank holidays added", subject=str(year), days=len(new))
    return len(new)


@transaction.atomic
def calendar_link_make(*, person: User) -> str:
    """A new secret address for this person's feed; the one before it ends. The token is shown once."""
    calendar_link_revoke(person=person)
    token = new_token()
    CalendarLink.objects.create(person=person, token_hash=token_hash(token))
    record(user=person, action="Calendar link made", subject=person.display_name)
    return token


@transaction.atomic
def calendar_link_revoke(*, person: User) -> None:
    if CalendarLink.objects.filter(person=person, revoked_at=None).update(revoked_at=timezone.now()):
        record(user=person, action="Calendar link ended", subject=person.display_name)


def note_read(*, link: CalendarLink) -> None:
    CalendarLink.objects.filter(pk=link.pk).update(last_read_at=timezone.now())
