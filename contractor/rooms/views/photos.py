"""Photographs of a room and its surfaces."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from contractor.accounts.access import office_only
from contractor.common.files import file_response
from contractor.rooms import selectors, services
from contractor.rooms import selectors_found as found
from contractor.rooms.forms.photos import PhotoForm, PhotosForm
from contractor.rooms.models import Photo
from contractor.rooms.views.survey import in_job


@office_only
def photos(request: HttpRequest, room_id: int) -> HttpResponse:
    """The room's photographs, and the form for more. `?shows=surface-3` begins with that surface."""
    room = selectors.room_for(room_id)
    asked = request.GET.get("shows", "")
    form = PhotosForm(request.POST or None, request.FILES or None, room=room, initial={"shows": asked})
    if form.is_valid():
        made = services.photos_add(
            room=room, by=request.user, pictures=form.pictures, caption=form.cleaned_data["caption"], **form.place()
        )
        messages.success(request, "The photo is kept." if len(made) == 1 else f"{len(made)} photos are kept.")
        return redirect(f"{reverse('rooms:photos', args=[room.pk])}?shows={form.cleaned_data['shows']}")
    context = in_job(room.job, room=room, form=form, photos=found.photos_of(room))
    return render(request, "rooms/photos.html", context)


@office_only
def photo(request: HttpRequest, photo_id: int) -> HttpResponse:
    photo = found.photo_for(photo_id)
    photo.room = selectors.room_for(photo.room_id)
    form = PhotoForm(request.POST or None, photo=photo)
    if form.is_valid():
        services.photo_update(photo=photo, caption=form.cleaned_data["caption"], **form.place())
        messages.success(request, "The photo is saved.")
        return redirect("rooms:photos", photo.room_id)
    context = in_job(photo.room.job, room=photo.room, photo=photo, form=form)
    return render(request, "rooms/photo.html", context)


@office_only
@require_POST
def photo_delete(request: HttpRequest, photo_id: int) -> HttpResponse:
    photo = found.photo_for(photo_id)
    services.photo_delete(photo=photo, user=request.user)
    messages.success(request, "The photo is deleted.")
    return redirect("rooms:photos", photo.room_id)


@office_only
@require_safe
def photo_full(request: HttpRequest, photo_id: int) -> HttpResponse:
    return _picture(found.photo_for(photo_id), "full")


@office_only
@require_safe
def photo_small(request: HttpRequest, photo_id: int) -> HttpResponse:
    return _picture(found.photo_for(photo_id), "small")


def _picture(photo: Photo, size: str) -> HttpResponse:
    return file_response(getattr(photo, size), name=f"photo-{photo.pk}.jpg")
