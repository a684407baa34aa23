"""A person's visits as an iCalendar (RFC 5545), for any calendar program."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import icalendar
from django.conf import settings
from django.utils import timezone

from contractor.accounts.models import Firm, User
from contractor.jobs.models import Visit

SHORT_HOURS = {
    Visit.Purpose.SURVEY: Decimal(2),
    Visit.Purpose.SOUND_TEST: Decimal(2),
    Visit.Purpose.SNAGGING: Decimal(3),
}
REFRESH = timedelta(hours=1)


def calendar_of(person: User, visits: Iterable[Visit], firm: Firm) -> bytes:
    """The whole feed. An event keeps its UID when it is moved, so that programs move it and do not double it."""
    calendar = icalendar.Calendar()
    calendar.add("prodid", "-//Quietwright//Visits//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", f"{firm.name}: {person.display_name}")
    calendar.add("refresh-interval", REFRESH, parameters={"value": "DURATION"})
    for visit in visits:
        calendar.add_component(_event(visit, firm))
    return calendar.to_ical()


def _event(visit: Visit, firm: Firm) -> icalendar.Event:
    begins = timezone.make_aware(datetime.combine(visit.on_date, visit.starts_at)).astimezone(UTC)
    hours = SHORT_HOURS.get(visit.purpose, firm.day_hours)
    event = icalendar.Event()
    host = settings.SITE_URL.partition("://")[2].partition("/")[0].partition(":")[0]
    event.add("uid", f"visit-{visit.pk}@{host}")
    event.add("dtstamp", timezone.now())
    event.add("dtstart", begins)
    event.add("dtend", begins + timedelta(hours=float(hours)))
    event.add("summary", f"{visit.get_purpose_display()}: job {visit.job.number}, {visit.job.title}")
    event.add("location", visit.job.property.one_line)
    told = [visit.note, visit.job.property.parking_note]
    event.add("description", "\n".join(line for line in told if line))
    return event
