"""A person's visits as an iCalendar (RFC 5545), for any calendar program."""

from collections.abc import Iterable
from datetime import UTC, timedelta

import icalendar
from django.conf import settings
from django.utils import timezone

from contractor.accounts.models import Firm, User
from contractor.jobs.models import Visit

REFRESH = timedelta(hours=1)


def calendar_of(person: User, visits: Iterable[Visit], firm: Firm) -> bytes:
    """The whole feed. An event keeps its UID when it is moved, so that programs move it and do not double it."""
    calendar = icalendar.Calendar()
    calendar.add("prodid", "-//Quietwright//Visits//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    for known_as in ("name", "x-wr-calname"):  # RFC 7986, and what older programs read instead
        calendar.add(known_as, f"{firm.name}: {person.display_name}")
    calendar.add("refresh-interval", REFRESH, parameters={"value": "DURATION"})
    for visit in visits:
        calendar.add_component(_event(visit, firm))
    return calendar.to_ical()


def _event(visit: Visit, firm: Firm) -> icalendar.Event:
    begins, ends = (timezone.make_aware(at).astimezone(UTC) for at in visit.span(firm.day_hours))
    event = icalendar.Event()
    host = settings.SITE_URL.partition("://")[2].partition("/")[0].partition(":")[0]
    event.add("uid", f"visit-{visit.pk}@{host}")
    event.add("dtstamp", timezone.now())
    event.add("dtstart", begins)
    event.add("dtend", ends)
    event.add("sequence", visit.sequence)
    event.add("summary", f"{visit.get_purpose_display()}: job {visit.job.number}, {visit.job.title}")
    event.add("location", visit.job.property.one_line)
    told = [visit.note, visit.job.property.parking_note]
    event.add("description", "\n".join(line for line in told if line))
    return event
