"""Forms of photographs: several taken or chosen at once, each of a room, a surface or a patch on one."""

from django import forms

from contractor.common.pictures import PicturesField
from contractor.rooms.models import Patch, Photo, Room, Surface


class ShownField(forms.ChoiceField):
    """What a photo is of: `room`, `surface-3` or `patch-7`. The places are those of one room."""

    def __init__(self, **kwargs):
        self.places: dict[str, Surface | Patch | None] = {}
        super().__init__(label="What it shows", **kwargs)

    def offer(self, room: Room) -> None:
        self.places, choices = {"room": None}, [("room", f"{room}, no one surface")]
        for surface in room.surfaces.all():
            patches = list(surface.patches.all())
            self._add(f"surface-{surface.pk}", surface, str(surface), choices)
            for patch in patches if len(patches) > 1 else []:
                self._add(f"patch-{patch.pk}", patch, f"{surface}: {patch.name}", choices)
        self.choices = choices

    def _add(self, key: str, place: Surface | Patch, label: str, choices: list) -> None:
        self.places[key] = place
        choices.append((key, label))


class _PhotoPlaces(forms.Form):
    def __init__(self, *args, room: Room, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["shows"].offer(room)

    def place(self) -> dict:
        """The surface and patch chosen, for the services."""
        chosen = self.fields["shows"].places[self.cleaned_data["shows"]]
        return {
            "surface": chosen if isinstance(chosen, Surface) else None,
            "patch": chosen if isinstance(chosen, Patch) else None,
        }


class PhotosForm(_PhotoPlaces):
    shows = ShownField()
    taken = PicturesField(
        label="Take a photo", required=False, takes_now=True, help_text="On a phone this opens the camera."
    )
    chosen = PicturesField(label="Or choose pictures", required=False, help_text="Several at once, at most 12.")
    caption = forms.CharField(
        label="What to look at",
        required=False,
        max_length=120,
        help_text="Such as crack over the socket, tape in view.",
    )

    def clean(self):
        cleaned = super().clean()
        if not self.errors and not (cleaned.get("taken") or cleaned.get("chosen")):
            self.add_error("taken", "Take a photo or choose a picture.")
        return cleaned

    @property
    def pictures(self) -> list:
        return [*self.cleaned_data["taken"], *self.cleaned_data["chosen"]]


class PhotoForm(_PhotoPlaces):
    shows = ShownField()
    caption = forms.CharField(label="What to look at", required=False, max_length=120)

    def __init__(self, *args, photo: Photo, **kwargs):
        of = (
            f"patch-{photo.patch_id}"
            if photo.patch_id
            else f"surface-{photo.surface_id}"
            if photo.surface_id
            else "room"
        )
        super().__init__(*args, room=photo.room, initial={"shows": of, "caption": photo.caption}, **kwargs)
        if of not in self.fields["shows"].places:  # the patch is now the whole of its surface
            self.initial["shows"] = f"surface-{photo.surface_id}" if photo.surface_id else "room"
