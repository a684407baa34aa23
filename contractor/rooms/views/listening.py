"""What is heard before and after, to listen to."""

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_safe

from contractor.accounts.access import office_only
from contractor.rooms import services
from contractor.rooms.listening.clips import Heard, room_to_listen_to
from contractor.rooms.listening.responses import clip_response, reference_response
from contractor.rooms.models import Scheme
from contractor.rooms.selectors_schemes import scheme_for


@login_not_required
@require_safe
def reference(request: HttpRequest) -> HttpResponse:
    """The same for everybody: it tells nothing of any job."""
    return reference_response(request)


@office_only
@require_safe
def clip(request: HttpRequest, scheme_id: int, room: str, noise: str, name: str) -> HttpResponse:
    predictions = services.calculate(scheme=scheme_for(scheme_id)).predictions
    if room not in predictions:
        raise Http404("That room is not predicted.")
    return clip_response(request, predictions[room].get("listen", []), noise, name)


def rooms_to_listen_to(scheme: Scheme, predictions: dict[str, dict]) -> list[dict]:
    """Each predicted room, for the player."""

    def heard(key: str, told: dict) -> Heard:
        def address(noise: str, name: str) -> str:
            return reverse("rooms:listen", args=[scheme.pk, key, noise, name])

        return Heard(listen=told.get("listen", []), words=told["words"], address=address)

    rooms = [room_to_listen_to(told["room"], [heard(key, told)]) for key, told in predictions.items()]
    return [room for room in rooms if room]
