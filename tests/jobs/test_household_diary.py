"""The household's diary: a link without an account, what may be written with it, and the week it makes.

Night is 23:00 to 07:00, as in the Night Noise Guidelines for Europe (WHO 2009).
"""

from datetime import date, datetime, time, timedelta

import pytest
from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from contractor.accounts.models import AuditEntry
from contractor.jobs import diary
from contractor.jobs.models import DiaryEntry, DiaryLink, NoiseHeard
from contractor.jobs.services import noise_save
from contractor.jobs.week import DAY, HOUR, LEFT, TOP, hours_by_kind, monday_of, told_times, week_of
from tests.factories import JobFactory, UserFactory

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 11, 23)


@pytest.fixture
def job():
    return JobFactory()


@pytest.fixture
def link(job):
    return diary.link_new(job=job, by=UserFactory())


def page(link):
    return reverse("jobs:household-diary", args=[link[1]])


def typed(**changes):
    today = timezone.localdate().isoformat()
    return {
        "kind": "music", "heard_on": today, "starts_at": "00:00", "minutes": "60", "loudness": "3",
        "heard_in": "In bed", "note": "The beat", **changes,
    }  # fmt: skip


def heard(day=0, start="22:00", minutes=60, kind="music", loudness=2, **more):
    hour, minute = map(int, start.split(":"))
    return DiaryEntry(
        heard_on=MONDAY + timedelta(days=day), starts_at=time(hour, minute), minutes=minutes, kind=kind,
        loudness=loudness, **more,
    )  # fmt: skip


def days(row):
    return [day["hours"] for day in row["days"]]


class TestWriting:
    def test_whoever_holds_the_link_writes_and_sees_only_what_was_written_with_it(self, stranger, job, link):
        other, _ = diary.link_new(job=job, by=UserFactory())
        diary.entry_add(link=other, heard_on=date(2026, 11, 1), starts_at=time(9), kind="dog", note="of the other link")

        assert stranger.post(page(link), typed()).url == page(link)

        entry = DiaryEntry.objects.get(kind="music")
        assert (entry.job, entry.link, entry.minutes, entry.loudness, entry.note) == (job, link[0], 60, 3, "The beat")
        shown = stranger.get(page(link)).content.decode()
        assert "The beat" in shown and "of the other link" not in shown
        assert job.property.customer.name not in shown and job.property.address_line_1 not in shown

    def test_what_was_typed_stays_beside_the_error(self, stranger, link):
        tomorrow = (timezone.localdate() + timedelta(days=1)).isoformat()
        response = stranger.post(page(link), typed(heard_on=tomorrow, kind=""))
        assert response.status_code == 200 and not DiaryEntry.objects.exists()
        assert response.context["form"].errors == {
            "kind": ["This field is required."],
            "heard_on": ["That day is still to come."],
        }
        assert "The beat" in response.content.decode()

    def test_the_same_entry_sent_twice_is_kept_once(self, stranger, link):
        stranger.post(page(link), typed())
        stranger.post(page(link), typed())
        assert DiaryEntry.objects.count() == 1

    def test_so_many_in_a_day_and_no_more(self, stranger, link, monkeypatch):
        monkeypatch.setattr(diary, "MOST_A_DAY", 2)
        for minute in ("00:01", "00:02", "00:03"):
            response = stranger.post(page(link), typed(starts_at=minute))
        assert DiaryEntry.objects.count() == 2
        assert "2 entries within a day" in str(response.context["form"].non_field_errors())
        DiaryEntry.objects.update(written_at=timezone.now() - timedelta(days=2))
        assert stranger.post(page(link), typed(starts_at="00:03")).status_code == 302

    def test_taking_an_entry_out(self, stranger, job, link):
        other = diary.link_new(job=job, by=UserFactory())
        stranger.post(page(link), typed())
        entry = DiaryEntry.objects.get()
        theirs = reverse("jobs:household-diary-delete", args=[other[1], entry.pk])
        assert stranger.post(theirs).status_code == 404 and DiaryEntry.objects.exists()
        assert stranger.get(reverse("jobs:household-diary-delete", args=[link[1], entry.pk])).status_code == 405
        stranger.post(reverse("jobs:household-diary-delete", args=[link[1], entry.pk]))
        assert not DiaryEntry.objects.exists()

    def test_a_fixed_number_of_queries(self, stranger, link, count_queries):
        stranger.post(page(link), typed())
        one = count_queries(stranger, page(link))
        for minute in range(1, 5):
            stranger.post(page(link), typed(starts_at=f"00:0{minute}"))
        assert count_queries(stranger, page(link)) == one


class TestTheLink:
    def test_only_its_hash_is_kept(self, link):
        kept = DiaryLink.objects.get()
        assert link[1] not in str(vars(kept)) and len(link[1]) >= 43  # 256 bits in base 64

    @pytest.mark.parametrize("shut", ["revoked", "expired", "unknown"])
    def test_one_that_opens_nothing_says_so_and_takes_nothing(self, stranger, link, shut):
        if shut == "revoked":
            diary.link_revoke(link=link[0], by=UserFactory())
        elif shut == "expired":
            DiaryLink.objects.update(expires_at=timezone.now())
        address = reverse("jobs:household-diary", args=["x" * 43]) if shut == "unknown" else page(link)
        for response in (stranger.get(address), stranger.post(address, typed())):
            assert response.status_code == (404 if shut == "unknown" else 410)
            assert ("opens nothing" if shut == "unknown" else "is closed") in response.content.decode()
        assert not DiaryEntry.objects.exists()

    def test_its_pages_are_kept_and_indexed_by_nobody_and_tell_no_other_site(self, stranger, link):
        for address in (page(link), reverse("jobs:household-diary", args=["unknown"])):
            response = stranger.get(address)
            assert response["Cache-Control"] == "no-store" and response["Referrer-Policy"] == "no-referrer"
            assert "noindex" in response["X-Robots-Tag"]

    def test_the_office_makes_it_sees_it_once_and_revokes_it(self, office, job):
        diary_page = reverse("jobs:heard", args=[job.number])
        assert office.post(reverse("jobs:heard-link-new", args=[job.number])).url == diary_page
        first = office.get(diary_page).content.decode()
        assert f"{settings.SITE_URL}/d/" in first and "mailto:" in first
        assert "/d/" not in office.get(diary_page).content.decode()
        link = DiaryLink.objects.get()
        office.post(reverse("jobs:heard-link-revoke", args=[link.pk]))
        link.refresh_from_db()
        assert link.revoked_at
        assert list(AuditEntry.objects.values_list("action", flat=True)) == ["Diary link revoked", "Diary link made"]


class TestTheWeek:
    def test_a_block_stands_at_its_day_and_hour(self):
        week = week_of([heard(day=2, start="20:00", minutes=120)], MONDAY)
        (block,) = week.blocks
        assert (block.x, block.y, block.height, block.letter) == (LEFT + 2 * DAY + 4, TOP + 20 * HOUR, 2 * HOUR, "M")

    def test_what_goes_on_past_midnight_goes_on_the_next_day(self):
        week = week_of([heard(day=0, start="23:00", minutes=120)], MONDAY)
        assert [(b.x - LEFT - 4, b.y - TOP) for b in week.blocks] == [(0, 23 * HOUR), (DAY, 0)]
        assert days(hours_by_kind([heard(day=0, start="23:00", minutes=120)], MONDAY)[0]) == [1, 1, 0, 0, 0, 0, 0]

    def test_sunday_night_before_reaches_into_monday_and_other_weeks_do_not(self):
        assert len(week_of([heard(day=-1, start="23:00", minutes=120)], MONDAY).blocks) == 1
        assert week_of([heard(day=7), heard(day=-2)], MONDAY).blocks == []

    def test_what_sounds_at_once_stands_side_by_side(self):
        entries = [heard(), heard(start="22:30", kind="dog"), heard(start="23:30", kind="pipes", minutes=30)]
        music, dog, pipes = week_of(entries, MONDAY).blocks
        assert music.x + music.width <= dog.x and dog.x + dog.width <= LEFT + DAY
        assert pipes.x == music.x  # the place is free again by then

    def test_hours_by_kind_and_day(self):
        entries = [heard(day=1, minutes=120), heard(day=1, start="08:00", minutes=30), heard(day=3, kind="dog")]
        rows = {row["kind"]: row for row in hours_by_kind(entries, MONDAY)}
        assert days(rows["music"])[1] == rows["music"]["sum"] == 2.5
        assert days(rows["dog"])[3] == 1 and set(rows) == {"music", "dog"}

    @pytest.mark.parametrize(
        "entries, told",
        [
            ([heard(day=4)], "Fri, between 22:00 and 23:00 (diary: once, 27 Nov)"),
            (
                [heard(day=4, start="23:30"), heard(day=6, start="00:15", minutes=30), heard(day=5, start="21:00")],
                "Fri, Sat, Sun, between 21:00 and 00:45 (diary: 3 times, 27 Nov to 29 Nov)",
            ),
            ([heard(day=n) for n in range(7)], "every day, between 22:00 and 23:00 (diary: 7 times, 23 Nov to 29 Nov)"),
        ],
    )
    def test_times_in_words(self, entries, told):
        assert told_times(entries) == told

    def test_monday(self):
        assert {monday_of(MONDAY + timedelta(days=n)) for n in range(7)} == {MONDAY}


class TestTheOfficesPage:
    def write(self, link, **changes):
        values = {"heard_on": MONDAY, "starts_at": time(22), "kind": "music", "minutes": 60, "heard_in": "Bed"}
        return diary.entry_add(link=link[0], **values | changes)

    def test_it_shows_the_latest_week_and_leads_to_the_one_before(self, office, job, link):
        self.write(link, heard_on=MONDAY - timedelta(days=3), note="long ago")
        self.write(link)
        response = office.get(reverse("jobs:heard", args=[job.number]))
        assert response.context["week"].first == MONDAY and response.context["before"] == MONDAY - timedelta(days=7)
        earlier = office.get(reverse("jobs:heard", args=[job.number]), {"week": "2026-11-18"})
        assert earlier.context["week"].first == date(2026, 11, 16) and len(earlier.context["week"].blocks) == 1
        assert office.get(reverse("jobs:heard", args=[job.number]), {"week": "never"}).status_code == 200

    def test_taking_over_adds_a_noise_or_completes_the_one_there(self, office, job, link):
        self.write(link)
        take = reverse("jobs:heard-take-over", args=[job.number])
        response = office.post(take, {"kind": "music"})
        noise = job.noises.get()
        assert response.url == reverse("jobs:noise", args=[job.number, noise.pk])
        assert (noise.kind, noise.heard_in) == ("music", "Bed") and "22:00" in noise.times
        noise_save(job=job, noise=noise, comes_from="Next door", heard_in="Back bedroom")
        self.write(link, starts_at=time(23))
        office.post(take, {"kind": "music"})
        noise = NoiseHeard.objects.get()
        assert (noise.comes_from, noise.heard_in) == ("Next door", "Back bedroom") and "2 times" in noise.times
        assert office.post(take, {"kind": "dog"}).status_code == 404

    def test_an_entry_of_another_job_is_not_found(self, office, job, link):
        entry = self.write(link)
        elsewhere = JobFactory()
        assert office.post(reverse("jobs:heard-delete", args=[elsewhere.number, entry.pk])).status_code == 404
        office.post(reverse("jobs:heard-delete", args=[job.number, entry.pk]))
        assert not DiaryEntry.objects.exists()

    def test_entries_and_links_add_no_queries(self, office, job, link, count_queries):
        self.write(link)
        address = reverse("jobs:heard", args=[job.number])
        one = count_queries(office, address)
        diary.link_new(job=job, by=UserFactory())
        for hour in range(5):
            self.write(link, starts_at=time(hour))
        assert count_queries(office, address) == one

    def test_an_empty_diary_says_what_it_is_for(self, office, job):
        assert "from their own phone" in office.get(reverse("jobs:heard", args=[job.number])).content.decode()


def test_the_expiry_is_four_weeks(link):
    assert timedelta(days=27) < link[0].expires_at - datetime.now(tz=link[0].expires_at.tzinfo) <= timedelta(days=28)
