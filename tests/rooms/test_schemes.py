"""Options of a job: making, copying, choosing treatments, what fits and what does not, the live summary."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from contractor.accounts.models import AuditEntry
from contractor.catalogue.models import BuildUp, Construction
from contractor.jobs.thread import thread_for
from contractor.rooms.inputs import surveyed_rooms
from contractor.rooms.models import Scheme, Treatment
from contractor.rooms.selectors_schemes import has_face_to_take_down, places_of
from tests.factories import JobFactory, SchemeFactory
from tests.rooms.scenes import BAR_LINING, BREAST_LINING, EDGE, FRAME_LINING, bedroom

pytestmark = pytest.mark.django_db


def sent(scene, **changes) -> dict:
    """What the form posts: everything left as it is, but for `changes` by field name."""
    data = {"name": scene.scheme.name, "summary": ""}
    for place in places_of(surveyed_rooms(scene.room.job)):
        data[place.key] = ""
    return data | changes


def key(build_up: str) -> str:
    return str(BuildUp.objects.get(key=build_up).pk)


def place_for(scene, patch):
    return next(p for p in places_of(surveyed_rooms(scene.room.job)) if p.patch == patch)


def test_first_option_is_offered_and_made(office):
    job = JobFactory()
    url = reverse("rooms:schemes", args=[job.number])
    assert "Add the first option" in office.get(url).content.decode()

    answer = office.post(reverse("rooms:scheme-new", args=[job.number]), {"name": "Wall only", "copy_of": ""})

    made = Scheme.objects.get(job=job)
    assert answer.url == reverse("rooms:scheme", args=[made.pk])
    assert AuditEntry.objects.filter(action="option added", user=office.user).exists()


def test_what_the_survey_lacks_is_told_beside_the_options(office):
    job = JobFactory()

    html = office.get(reverse("rooms:schemes", args=[job.number])).content.decode()

    assert "The survey still lacks something" in html
    assert reverse("rooms:survey", args=[job.number]) in html


def test_a_name_used_twice_is_told_beside_it_and_kept(office):
    scheme = SchemeFactory(name="Wall only")

    answer = office.post(reverse("rooms:scheme-new", args=[scheme.job.number]), {"name": "Wall only", "copy_of": ""})

    assert answer.status_code == 200
    assert answer.context["form"].errors["name"] == ["This job already has an option of that name."]
    assert 'value="Wall only"' in answer.content.decode()
    assert Scheme.objects.filter(job=scheme.job).count() == 1


def test_an_option_cannot_take_the_name_of_another(office):
    scene = bedroom()
    SchemeFactory(job=scene.room.job, name="Deeper")

    answer = office.post(reverse("rooms:scheme", args=[scene.scheme.pk]), sent(scene, name="Deeper"))

    assert answer.context["form"].errors["name"] == ["This job already has an option of that name."]


def test_an_option_can_start_from_another(office):
    scene = bedroom()
    scene.build_all()

    office.post(
        reverse("rooms:scheme-new", args=[scene.room.job.number]),
        {"name": "Deeper", "copy_of": scene.scheme.pk},
    )

    def built(scheme):
        return set(scheme.treatments.values_list("patch", "side_path", "build_up", "boards_run"))

    copy = Scheme.objects.get(name="Deeper")
    assert built(copy) == built(scene.scheme)
    assert copy.position == scene.scheme.position + 1


def test_an_option_of_another_job_cannot_be_copied(office):
    stranger = SchemeFactory()
    job = JobFactory()

    answer = office.post(reverse("rooms:scheme-new", args=[job.number]), {"name": "Copy", "copy_of": stranger.pk})

    assert "copy_of" in answer.context["form"].errors


def test_only_what_fits_the_surface_and_its_depth_is_offered():
    scene = bedroom()

    fitting = {b.key for b in place_for(scene, scene.breast).fitting}
    unfit = {fit.build_up.key: fit.why_not for fit in place_for(scene, scene.breast).unfit}

    assert BREAST_LINING in fitting
    assert unfit[FRAME_LINING] == "needs 97.5 mm and 60 mm is given"
    assert CEILING_KEYS.isdisjoint(fitting | set(unfit))


def test_what_is_only_for_a_part_that_stands_out_is_offered_there_alone():
    """By what the build-up says of itself, whatever it is called; what was chosen already stays in view."""
    scene = bedroom()
    BuildUp.objects.filter(key=BREAST_LINING).update(name="Slim lining of another name")
    BuildUp.objects.filter(key=BAR_LINING).update(name="Chimney breast lining in name alone")

    on_wall = {fit.build_up.key for fit in place_for(scene, scene.alcoves).fits}
    on_breast = {fit.build_up.key for fit in place_for(scene, scene.breast).fits}
    scene.build(BREAST_LINING, patch=scene.alcoves)
    places = places_of(surveyed_rooms(scene.room.job), scene.scheme.treatments.all())
    chosen = {fit.build_up.key for place in places if place.patch == scene.alcoves for fit in place.fits}

    assert BREAST_LINING not in on_wall
    assert {BREAST_LINING, BAR_LINING} <= on_breast
    assert BAR_LINING in on_wall
    assert BREAST_LINING in chosen


CEILING_KEYS = {"bar-ceiling-50", "independent-ceiling-205"}


def test_nothing_fits_where_no_depth_is_given():
    scene = bedroom()
    scene.breast.depth_limit_mm = None
    scene.breast.save()

    place = place_for(scene, scene.breast)

    assert place.fitting == []
    assert {fit.why_not for fit in place.unfit} == {"the survey gives no depth here"}


def test_retired_build_ups_are_not_offered():
    scene = bedroom()
    BuildUp.objects.filter(key=BREAST_LINING).update(is_active=False)

    assert BREAST_LINING not in {b.key for b in place_for(scene, scene.breast).fitting}


def test_what_no_longer_fits_is_told_before_saving_takes_it_out(office):
    scene = bedroom()
    scene.build(BREAST_LINING, patch=scene.breast)
    scene.breast.depth_limit_mm = 40
    scene.breast.save()

    html = office.get(reverse("rooms:scheme", args=[scene.scheme.pk])).content.decode()

    assert "it no longer fits" in html
    assert "needs 49.1 mm and 40 mm is given" in html


def test_what_is_chosen_stays_though_it_is_retired_or_takes_no_part(office):
    scene = bedroom()
    scene.build(BAR_LINING, patch=scene.window_wall)
    BuildUp.objects.filter(key=BAR_LINING).update(is_active=False)
    scene.window_wall.surface.role = "other"
    scene.window_wall.surface.save()

    html = office.get(reverse("rooms:scheme", args=[scene.scheme.pk])).content.decode()

    assert f'<option value="{key(BAR_LINING)}" selected>' in html


def test_a_flue_is_never_ours_to_close():
    from tests.factories import SidePathFactory

    scene = bedroom()
    flue = SidePathFactory(room=scene.room, kind="flue", name="Flue")

    assert next(p for p in places_of(surveyed_rooms(scene.room.job)) if p.side_path == flue).fits == []


def test_treatments_are_saved_and_replaced(office):
    scene = bedroom()
    scene.build(BAR_LINING, patch=scene.window_wall)
    url = reverse("rooms:scheme", args=[scene.scheme.pk])
    chosen = {
        f"patch-{scene.alcoves.pk}": key(FRAME_LINING),
        f"patch-{scene.alcoves.pk}-across": "on",
        f"path-{scene.void.pk}": key(EDGE),
        "summary": "The wall and the floor edge.",
    }

    answer = office.post(url, sent(scene, **chosen))

    assert answer.status_code == 302
    built = {(t.patch_id, t.side_path_id): (t.build_up.key, t.boards_run) for t in scene.scheme.treatments.all()}
    assert built == {
        (scene.alcoves.pk, None): (FRAME_LINING, "horizontal"),
        (None, scene.void.pk): (EDGE, "vertical"),
    }
    scene.scheme.refresh_from_db()
    assert scene.scheme.summary == "The wall and the floor edge."


def test_what_does_not_fit_is_refused_with_the_reason_and_nothing_is_lost(office):
    scene = bedroom()
    field = f"patch-{scene.breast.pk}"

    answer = office.post(
        reverse("rooms:scheme", args=[scene.scheme.pk]),
        sent(scene, **{field: key(FRAME_LINING), "summary": "Kept words"}),
    )

    assert answer.status_code == 200
    assert "needs 97.5 mm and 60 mm is given" in answer.context["form"].errors[field][0]
    assert "Kept words" in answer.content.decode()
    assert scene.scheme.treatments.count() == 0


def test_what_does_not_fit_stands_in_the_list_but_cannot_be_chosen(office):
    scene = bedroom()

    html = office.get(reverse("rooms:scheme", args=[scene.scheme.pk])).content.decode()

    assert 'label="Does not fit here"' in html
    assert f'value="no-{key(FRAME_LINING)}" disabled' in html


def test_live_summary_tells_unsaved_choices_and_saves_nothing(office):
    scene = bedroom()
    data = sent(scene, **{f"path-{scene.void.pk}": key(EDGE)})
    url = reverse("rooms:scheme-preview", args=[scene.scheme.pk])

    as_it_is = office.post(url, sent(scene), headers={"HX-Request": "true"}).content.decode()
    treated = office.post(url, data, headers={"HX-Request": "true"}).content.decode()

    assert "<html" not in treated
    assert "what is done gains" in treated
    assert "what is done gains" not in as_it_is
    assert scene.scheme.treatments.count() == 0


def test_page_shows_the_prediction_of_what_is_saved(office):
    scene = bedroom()
    scene.build(EDGE, side_path=scene.void)

    html = office.get(reverse("rooms:scheme", args=[scene.scheme.pk])).content.decode()

    assert "what is done gains" in html


def test_delete_asks_first_and_goes_back_to_the_options(office):
    scene = bedroom()
    page = office.get(reverse("rooms:scheme", args=[scene.scheme.pk])).content.decode()
    assert "data-confirm" in page

    answer = office.post(reverse("rooms:scheme-delete", args=[scene.scheme.pk]))

    assert answer.url == reverse("rooms:schemes", args=[scene.room.job.number])
    assert not Scheme.objects.exists()


def test_fitters_are_refused_and_missing_options_are_not_found(office, fitter):
    scene = bedroom()
    url = reverse("rooms:scheme", args=[scene.scheme.pk])

    assert fitter.get(url).status_code == 403
    assert office.get(reverse("rooms:scheme", args=[scene.scheme.pk + 99])).status_code == 404


@pytest.mark.parametrize(
    ("options", "state"), [(0, "waiting"), (1, "now")], ids=["no option yet", "an option with nothing in it"]
)
def test_thread_step(options, state):
    job = JobFactory()
    SchemeFactory.create_batch(options, job=job)

    assert next(s for s in thread_for(job, "treatment") if s.label == "Treatment").state == state


def test_thread_step_is_done_once_something_is_built():
    scene = bedroom()
    scene.build(EDGE, side_path=scene.void)

    assert next(s for s in thread_for(scene.room.job, "treatment") if s.label == "Treatment").state == "done"


def test_options_page_queries_do_not_grow_with_options(office, count_queries):
    scene = bedroom()
    scene.build_all()
    url = reverse("rooms:schemes", args=[scene.room.job.number])
    one = count_queries(office, url)
    for name in ("Second", "Third"):
        office.post(
            reverse("rooms:scheme-new", args=[scene.room.job.number]), {"name": name, "copy_of": scene.scheme.pk}
        )

    assert count_queries(office, url) == one


def test_option_page_queries_do_not_grow_with_places(office, count_queries):
    scene = bedroom()
    scene.build_all()
    url = reverse("rooms:scheme", args=[scene.scheme.pk])
    one = count_queries(office, url)
    for name in ("Box room", "Landing"):
        bedroom(job=scene.room.job, name=name)

    assert count_queries(office, url) == one


def test_saving_takes_few_queries(office):
    scene = bedroom()
    data = sent(scene, **{f"path-{scene.void.pk}": key(EDGE)})

    with CaptureQueriesContext(connection) as queries:
        office.post(reverse("rooms:scheme", args=[scene.scheme.pk]), data)

    assert len(queries) < 40


def test_a_place_without_depth_is_named_and_not_asked_about(office):
    scene = bedroom()
    scene.breast.depth_limit_mm = None
    scene.breast.save()
    Treatment.objects.filter(patch=scene.breast).delete()

    html = office.get(reverse("rooms:scheme", args=[scene.scheme.pk])).content.decode()

    assert "Left as it is" in html
    assert "the survey gives no depth here</a>" in html
    assert f'name="patch-{scene.breast.pk}"' not in html


@pytest.mark.parametrize(
    ("construction", "face", "has_one"),
    [
        ("stud-partition", "wall", True),
        ("lath-and-plaster-stud", "wall", True),
        ("one-brick-plastered", "wall", False),
        ("one-brick-board-on-dabs", "wall", False),
        ("external-cavity", "wall", False),
        ("loft-ceiling-lath", "ceiling", True),
        ("timber-floor-board-ceiling", "ceiling", True),
        ("concrete-floor", "ceiling", False),
    ],
)
def test_only_a_hollow_construction_has_a_face_to_take_down(construction, face, has_one):
    scene = bedroom()
    patch = scene.ceiling if face == "ceiling" else scene.window_wall
    patch.construction = Construction.objects.get(key=construction)
    assert has_face_to_take_down(patch) == has_one
