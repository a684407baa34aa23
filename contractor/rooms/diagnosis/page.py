"""What the diagnosis page shows of each room."""

from contractor.rooms.calculation import Predicted
from contractor.rooms.diagnosis.box import box_drawing
from contractor.rooms.diagnosis.bridge import FOOTSTEPS, NOISES, gain_db, gains_of
from contractor.rooms.diagnosis.on_plan import plan_drawing
from contractor.rooms.diagnosis.ways import limit_of, treated_in, ways_of
from contractor.rooms.inputs import Inputs
from contractor.rooms.models import Room
from contractor.rooms.shape import room_shape


def shown(inputs: Inputs, room: Room, predicted: Predicted, noise: str) -> dict:
    """One room for one noise. Without treatments only as it is. `problem` says what keeps it from being predicted."""
    told = predicted.rooms.get(str(room.pk))
    if told is None:
        return {"room": room, "problem": next((p["text"] for p in predicted.problems if p["face"] == room.name), "")}
    ways = ways_of(told, room, noise, treated_in(inputs, room))
    is_treated = any(way.is_treated for way in ways)
    return {
        "room": room,
        "told": told,
        "ways": ways,
        "is_treated": is_treated,
        "pictures": _pictures(room, ways, noise, is_treated) if ways else [],
        "limit": [limit_of(ways, after=after) for after in ([False, True] if is_treated else [False])]
        if noise != FOOTSTEPS
        else [],
        "is_struck": noise == FOOTSTEPS,
        "impact": told["impact"],
        "gain_db": gain_db(told["paths"], noise) if is_treated and noise != FOOTSTEPS else None,
        "gains": _gains(inputs, room, noise) if is_treated and noise != FOOTSTEPS else None,
        "words": [word for word in told["words"] if word.get("key") == noise],
    }


def _pictures(room: Room, ways, noise: str, is_treated: bool) -> list[dict]:
    shape = room_shape(room)
    found = []
    for after in (False, True) if is_treated else (False,):
        when = "after the work, of what is then left" if after else "as it is"
        title = f"{room.name}: where {NOISES[noise].lower()} comes in, {when}"
        uid = f"{room.pk}-{'after' if after else 'before'}"
        found.append(
            {
                "caption": when[:1].upper() + when[1:],
                "box": box_drawing(shape, ways, after=after, uid=f"box-{uid}", title=title),
                "plan": plan_drawing(shape, ways, after=after, uid=f"shares-{uid}", title=f"{title}, on the plan"),
            }
        )
    return found


def _gains(inputs: Inputs, room: Room, noise: str):
    found = gains_of(inputs, room, noise)
    return found if found.rows else None
