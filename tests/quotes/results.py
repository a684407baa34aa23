"""Predictions and take-offs as a calculation keeps them, small enough to reckon by hand or long enough to fill pages."""

from contractor.rooms.models import Calculation
from tests.factories import SchemeFactory

BANDS_HZ = [
    50,
    63,
    80,
    100,
    125,
    160,
    200,
    250,
    315,
    400,
    500,
    630,
    800,
    1000,
    1250,
    1600,
    2000,
    2500,
    3150,
    4000,
    5000,
]


def face(number=1, **changes):
    """A wall lining of 8.64 m²: materials 412.50, 20.30 hours."""
    made = {
        "key": f"p{number}-1",
        "room": "Back bedroom",
        "surface": "B",
        "label": f"B Party wall {number}",
        "build_up_key": "independent-steel-lining-95",
        "build_up": "Independent steel lining, two dense boards",
        "surface_kind": "wall",
        "unit": "m2",
        "quantity": "8.64",
        "width_mm": 3600,
        "height_mm": 2400,
        "outline_mm": [[0, 0], [3600, 0], [3600, 2400], [0, 2400]],
        "openings_mm": [],
        "area_m2": "8.64",
        "boxes": 0,
        "depth_mm": "97.5",
        "layers": [],
        "hold_points": [],
        "labour_hours": "20.30",
        "labour_factors": [],
        "materials_cost": "412.50",
        "materials": [],
        "preparation_hours": "4.75",
        "problem": None,
    }
    return made | changes


def takeoff(faces=None, preparation=True, **changes):
    faces = [face()] if faces is None else faces
    priced = [f for f in faces if not f["problem"]]
    made = {
        "faces": faces,
        "sheets": [],
        "lengths": [],
        "buy": [
            {
                "material_key": "dense-board-15",
                "material": "Dense board 15",
                "kind": "board",
                "needed": "17.28",
                "needed_unit": "m2",
                "packs": 6,
                "pack_quantity": 1,
                "pack_unit": "sheet",
                "pack_price": "20.25",
                "cost": "121.50",
                "left_over": "0.16",
                "mass_kg": "221.0",
                "lead_time_days": 3,
                "price_is_illustrative": True,
                "basis": "6 sheets laid out",
            }
        ],
        "preparation": [
            {
                "face": f["key"],
                "description": "Strip loose plaster and bag it out",
                "reason": "The plaster is blown.",
                "quantity": "8.64",
                "unit": "m2",
                "hours": "4.75",
                "rate_key": "fitter",
            }
            for f in priced
            if preparation
        ],
        "labour": [
            {"face": f["key"], "description": f["build_up"], "hours": f["labour_hours"], "rate_key": "fitter"}
            for f in priced
        ],
        "totals": {
            "materials_cost": "412.50",
            "mass_kg": "331.0",
            "labour_hours": "25.05",
            "sheet_count": 6,
            "area_m2": "8.64",
        },
        "notices": [],
        "problems": [],
    }
    return made | changes


def predictions(after_db=53, room="Back bedroom"):
    def single(weighted_db):
        levels = [weighted_db - 12 + 1.1 * n for n in range(21)]
        return {
            "standardized_db": levels,
            "weighted_db": weighted_db,
            "c_db": -1,
            "ctr_db": -5,
            "uncertainty_db": 4.0,
            "band_uncertainty_db": [5.0] * 21,
        }

    def path(name, kind, surface, before, after):
        return {
            "name": name,
            "kind": kind,
            "surface": surface,
            "share_before": before,
            "share_after": after,
            "reduction_before_db": [40.0] * 21,
            "reduction_after_db": [50.0] * 21,
            "weighted_before_db": 44,
            "weighted_after_db": 54,
            "uncertainty_db": 3.0,
            "remarks": [],
            "basis": "worked out",
        }

    def playable(noise, label, source_db, is_told_of=True):
        return {
            "noise": noise,
            "label": label,
            "is_told_of": is_told_of,
            "source_db": [source_db] * 21,
            "before_db": [source_db - 40.0] * 21,
            "after_db": [source_db - float(after_db) + 5.0] * 21,
            "low_end_db": [source_db - float(after_db) + 9.0] * 21,
        }

    return {
        "1": {
            "room": room,
            "volume_m3": 36.3,
            "bands_hz": BANDS_HZ,
            "before": single(45),
            "after": single(after_db),
            "paths": [
                path("Party wall, straight through", "direct", "B", 0.62, 0.18),
                path("Joined floor void", "void", None, 0.21, 0.44),
                path("Front wall past the party wall", "flanking", "C", 0.12, 0.29),
                path("Gaps at the joist ends", "leak", None, 0.05, 0.09),
            ],
            "limit_text": "More on the party wall would bring little: the floor void now lets most through.",
            "notices": [{"code": "void", "text": "The joined floor void is not treated in this option."}],
            "words": [
                {
                    "key": "speech_normal",
                    "noise": "Normal talking next door",
                    "before": "Words can be made out in the evening.",
                    "after": "Not heard in most homes; a murmur on a quiet night.",
                },
                {
                    "key": "music_bass",
                    "noise": "Music with bass",
                    "before": "Clearly heard, words and beat.",
                    "after": "The beat can still be heard at night.",
                },
            ],
            "listen": [
                playable("speech_normal", "Talking normally next door", 55.0),
                playable("music_bass", "Loud music with bass next door", 72.0, is_told_of=False),
            ],
            "impact": None,
            "side_effects": [],
        }
    }


def calculated_scheme(job, name="Party wall", position=1, takeoff_json=None, predictions_json=None):
    """A scheme of the job with its calculation standing."""
    scheme = SchemeFactory(job=job, name=name, position=position, summary="The wall between you and next door.")
    Calculation.objects.create(
        scheme=scheme,
        fingerprint="f" * 64,
        engine_version="1.0",
        predictions=predictions_json or predictions(),
        takeoff=takeoff_json or takeoff(),
    )
    return scheme


def stored_calculations(*, job):
    """Stands in for rooms.services.calculate_all: what stands in the database, not worked out anew."""
    return [(scheme, scheme.calculation) for scheme in job.schemes.select_related("calculation")]
