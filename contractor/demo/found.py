"""What the invented surveys found: tap tests, photographs, diaries, and a rule set aside. By the job's title.

Cells of a tap test are column-row from the bottom left, of 300 mm. Days of a diary are counted back from the demo's.
"""

from datetime import date, time, timedelta
from decimal import Decimal

from django.utils import timezone

from contractor.accounts.models import User
from contractor.common.pictures import clean_picture
from contractor.demo.pictures import picture
from contractor.jobs import diary
from contractor.jobs.models import Job
from contractor.rooms import services
from contractor.rooms.models import Finding, Patch, Surface
from contractor.rooms.rules.book import shipped

FOUND = {
    "Upstairs bedroom, wall shared with next door": {
        "taps": {
            "B": {
                "hollow": "11-5 11-6 12-5 12-6 1-2 2-2 2-3 1-7", "skipped": "0-0 0-1", "moisture": "12.0",
                "note": "Dry throughout; wardrobe in front of the left corner, low down.",
            },
            "E": {"hollow": "5-6 6-6", "moisture": "9.5", "note": "Crack from the rose, laths hold."},
        },
        "photos": [
            ("wall", "B", "Whole party wall; tape along the skirting, hollow place ringed"),
            ("pockets", "B", "Below the floor edge: light round the second joist"),
            ("crack", "E", "Crack from the rose to the party wall"),
            ("meter", "B", "12 % low on the left: dry"),
        ],
        "diary": [
            (8, "21:10", 120, "television", 2, "In bed", "A quiz, could follow the answers"),
            (7, "21:30", 60, "television", 2, "In bed", ""),
            (7, "22:40", 30, "speech", 2, "In bed", "On the telephone"),
            (5, "20:00", 240, "television", 3, "In bed", "Film, gave up reading"),
            (4, "22:15", 30, "speech", 1, "At the desk", ""),
            (3, "21:00", 120, "television", 2, "In bed", ""),
            (2, "23:20", 15, "speech", 4, "In bed", "Quarrel, every word"),
        ],
    },
    "Bedroom below a piano and late music": {
        "taps": {
            "B": {"hollow": "4-9"},
            "E": {"skipped": "0-0 1-0 2-0", "note": "Laths sound; three cells over the wardrobe not reached."},
        },
        "photos": [("crack", "E", "Crack from the rose; plaster holds")],
        "diary": [
            (9, "14:00", 60, "instrument", 2, "Sofa", "Scales"),
            (8, "22:30", 120, "music", 3, "In bed", "The beat comes through the pillow"),
            (8, "23:00", 60, "footsteps", 3, "In bed", "Dancing?"),
            (7, "22:00", 240, "music", 4, "In bed", "Until two, nobody slept"),
            (7, "23:30", 120, "footsteps", 3, "In bed", ""),
            (6, "15:00", 60, "instrument", 2, "Sofa", ""),
            (4, "07:10", 15, "footsteps", 2, "In bed", "Heels on the hard floor"),
            (3, "16:00", 60, "instrument", 1, "Kitchen", ""),
        ],
        "aside": [
            ("E", "footsteps-at-source", "Flat 3 has just laid new oak and will not have it lifted; we asked, with the customer."),
        ],
    },
    "Loft room beside the neighbour's bathroom": {
        "diary": [
            (3, "05:50", 15, "pipes", 4, "Loft bed", "Flush, then a long run of water"),
            (2, "06:05", 15, "pipes", 3, "Loft bed", "Woke him again"),
            (2, "07:30", 30, "speech", 2, "Loft", "Voices in the bathroom"),
            (1, "05:45", 15, "pipes", 3, "Loft bed", ""),
        ],
    },
}  # fmt: skip


def add_found(job: Job, office: User) -> None:
    """Everything that FOUND has for the job."""
    plan = FOUND.get(job.title, {})
    surfaces = {surface.letter: surface for surface in Surface.objects.filter(room__job=job).select_related("room")}
    for letter, told in plan.get("taps", {}).items():
        services.finding_save(finding=_finding(surfaces[letter], told))
    for kind, letter, caption in plan.get("photos", ()):
        surface = surfaces[letter]
        pictures = [clean_picture(picture(kind))]
        services.photos_add(room=surface.room, surface=surface, pictures=pictures, caption=caption, by=office)
    for letter, key, reason in plan.get("aside", ()):
        patch = Patch.objects.get(surface=surfaces[letter], is_rest=True)
        services.rule_set_aside(place=patch, rule=shipped()[key], reason=reason, by=office)
    _diary(job, office, plan.get("diary", ()))


def _finding(surface: Surface, told: dict) -> Finding:
    marks = {
        name: [[int(n) for n in cell.split("-")] for cell in told.get(name, "").split()]
        for name in ("hollow", "damp", "skipped")
    }
    moisture = told.get("moisture")
    return Finding(
        surface=surface,
        was_tapped=True,
        marks=marks,
        moisture_percent=Decimal(moisture) if moisture else None,
        note=told.get("note", ""),
    )


def _diary(job: Job, office: User, rows) -> None:
    if not rows:
        return
    link, _ = diary.link_new(job=job, by=office)
    today: date = timezone.localdate()
    for days, start, minutes, kind, loudness, where, note in rows:
        diary.entry_add(
            link=link,
            heard_on=today - timedelta(days=days),
            starts_at=time.fromisoformat(start),
            minutes=minutes,
            kind=kind,
            loudness=loudness,
            heard_in=where,
            note=note,
        )
