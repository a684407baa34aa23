"""An invented firm in an invented town, and seven invented households at different stages. Nobody here is real.

Days are counted from the day the demo is loaded, visits to come in working days; all else is fixed.
"""

FIRM = {
    "name": "Larkfold Quiet Rooms",
    "address": "The Old Ropewalk\nSaltmere Quay\nWexcombe\nZX3 7QT",
    "phone": "01632 960118",
    "email": "office@larkfold.example",
    "company_number": "00000000",
    "vat_number": "GB 000 0000 00",
    "insurance_note": "Public liability insurance; certificate on request.",
    "exclusions": (
        "Asbestos removal and any work that a survey for asbestos shows to be needed\n"
        "Curing damp and its cause\n"
        "Structural work, and work to flues, gas or fixed heating appliances\n"
        "Work on the neighbour's side\n"
        "Redecoration, except where a line says so\n"
        "Matching of existing coving, skirting or wallpaper that cannot be reused\n"
        "A promise of silence: we reduce what is heard, we cannot remove it"
    ),
    "terms": (
        "Prices hold for the days stated. The work follows the drawings in this proposal; anything found on opening up "
        "that changes the work is priced and agreed in writing before it is done.\n"
        "A deposit secures the dates; the balance falls due when the work is done."
    ),
    "guarantee": "Our workmanship is guaranteed for 12 months from completion.",
}

# username, first name, last name, role, phone
PEOPLE = [
    ("tamsin", "Tamsin", "Varley-Roe", "owner", "07700 900101"),
    ("idris", "Idris", "Fennimore", "office", "07700 900102"),
    ("jonty", "Jonty", "Marrack-Lowe", "fitter", "07700 900103"),
    ("beatriz", "Beatriz", "Holm-Ashby", "fitter", "07700 900104"),
]

SUPPLIERS = [
    {
        "name": "Hollowmere Boards",
        "email": "orders@hollowmere.example",
        "account_note": "Account 4417; delivers Tuesday and Friday",
        "kinds": ["board", "membrane", "insulation", "resilient", "isolation", "damping"],
    },
    {
        "name": "Quay Lane Timber",
        "email": "trade@quaylane.example",
        "account_note": "Account QR-20; no least order",
        "kinds": ["framing", "timber_sheet", "fixing", "sealant", "tape", "plaster", "adhesive", "joinery"],
    },
]

# Surfaces: letter, name, face, role, length, height, then what differs from a plain surface.
# Patches besides the rest: name, x, y, width, height, projection, construction, condition, depth.
# A scheme names, for a patch as "B" (the rest of surface B) or "B/Chimney breast", or a side path, its build-up.
JOBS = [
    {
        "title": "Upstairs bedroom, wall shared with next door",
        "customer": ("Marit Oyelade-Finch", "marit@household.example", "07700 900211"),
        "home": {
            "address_line_1": "14 Quillet Rise", "town": "Wexcombe", "postcode": "ZX4 2HB", "kind": "semi",
            "built": "1919_1944", "tenure": "freehold",
            "access_note": "Key from the customer at 7.45. A cat that must stay in. No noise before 8.",
            "parking_note": "On the drive, one van.",
        },
        "wish": "We hear next door's television word for word at night, and their voices on the landing. We want to sleep.",
        "storey": 1, "budget": "10000",
        "noises": [
            {"kind": "television", "comes_from": "Bedroom of No. 16", "heard_in": "Our bedroom", "times": "Most nights to 1 a.m.", "words": "all"},
            {"kind": "speech", "comes_from": "Landing of No. 16", "heard_in": "Our bedroom", "times": "Evenings", "words": "some"},
        ],
        "rooms": [
            {
                "name": "Front bedroom", "size": (3650, 4150, 2440),
                "surfaces": [
                    {"letter": "A", "name": "Front wall", "length": 3650, "role": "flanking", "construction": "external-cavity", "condition": "sound", "junction": "rigid_t", "openings": [("window", 950, 880, 1770, 1220, "window-double")]},
                    {"letter": "B", "name": "Party wall", "length": 4150, "role": "separating", "construction": "one-brick-plastered", "condition": "part_hollow", "depth": 100,
                     "boxes": [("socket", 620, 450, 146, 86), ("data", 800, 450, 86, 86), ("socket", 3300, 450, 146, 86)],
                     "patches": [("Chimney breast", 1420, 0, 1300, 2440, 340, "chimney-breast-with-flue", "sound", 55)]},
                    {"letter": "C", "name": "Back wall to the bathroom", "length": 3650, "role": "flanking", "construction": "dense-block-plastered", "condition": "sound", "junction": "rigid_cross"},
                    {"letter": "D", "name": "Wall to the landing", "length": 4150, "role": "other", "construction": "stud-partition", "condition": "board", "openings": [("door", 300, 0, 830, 2030, None)]},
                    {"letter": "E", "name": "Ceiling", "face": "ceiling", "length": 3650, "height": 4150, "role": "flanking", "construction": "loft-ceiling-lath", "condition": "lath", "depth": 60, "junction": "lightweight_facade", "junction_length": 4150},
                    {"letter": "F", "name": "Floor", "face": "floor", "length": 3650, "height": 4150, "role": "flanking", "construction": "timber-floor-board-ceiling", "condition": "boards", "junction": "lightweight_facade", "junction_length": 4150},
                ],
                "side_paths": [
                    {"kind": "leak", "name": "Joist pockets in the party wall", "open_area_mm2": 420, "length_mm": 4150, "note": "Ten joists bear in the wall; light seen round two."},
                    {"kind": "flue", "name": "Back-to-back flues", "length_mm": 1300, "note": "Fireplace closed, vent kept; disused on our side."},
                ],
            },
        ],
        "schemes": [
            ("Slim", "Thin linings to the alcoves and the breast. Least space lost; talking becomes hard to follow.",
             {"B": "slim-bar-lining-50", "B/Chimney breast": "chimney-breast-lining-50", "Joist pockets in the party wall": "gap-sealing"}),
            ("Recommended", "A free-standing lining in the alcoves, a slim one round the breast, a new ceiling under the loft, and every gap at the joists closed.",
             {"B": "independent-steel-lining-95", "E": "bar-ceiling-50", "B/Chimney breast": "chimney-breast-lining-50", "Joist pockets in the party wall": "gap-sealing"}),
        ],
        "gates": {
            "asbestos": ("needed", "Refurbishment survey, no asbestos found; report on the job's shelf", "Licensed surveyor", -20),
            "electrics": ("needed", "Three points to move; certificate to follow", "Registered electrician", -9),
            "flue": ("needed", "Flue swept and confirmed disused", "Registered sweep", -12),
            "structure": ("needed", "Loft joists looked at: the new ceiling weighs about what the lath and plaster did", "Chartered engineer", -10), "ventilation": ("not_needed", "Upper floor; no air brick near", "", None),
            "fire": ("not_needed", "Single household; no fire-resisting lining touched", "", None), "consent": ("not_needed", "Freehold, not listed", "", None),
        },
        "extras": [
            ("testing", "Listening check together, a week after the work", "1", "visit", "65.00"),
            ("waste", "Plaster bag and carry down one storey", "2", "bag", "118.00"),
        ],
        "offers": [
            ("finishing", "Mist coat and two coats of paint on the new linings", "White, on the fresh plaster once it is dry, about a week after the rest.", "410.00"),
            ("details", "Hardwood shelf on the chimney breast", "Fixed to noggings that we set in the new frame, so that nothing touches the wall behind.", "165.00"),
        ],
        "takes": ["Mist coat and two coats of paint on the new linings"],
        "ends": "on_site", "accepts": "Recommended", "visits": [(n, ["jonty", "beatriz"]) for n in range(5)] + [(5, ["jonty"])],
        "ticks": 3,
    },
    {
        "title": "Bedroom below a piano and late music",
        "customer": ("Desmond Quillinan-Bray", "desmond@household.example", "07700 900212"),
        "home": {
            "address_line_1": "Flat 2, The Chandlery", "address_line_2": "Tarpot Lane", "town": "Wexcombe",
            "postcode": "ZX1 9PF", "kind": "conversion", "built": "pre_1919", "tenure": "leasehold", "is_listed": True,
            "access_note": "Entry phone 2. Stair turn is tight: boards of 1,800 mm at most.", "parking_note": "Loading bay until 10.",
        },
        "wish": "Upstairs plays the piano, and music with a lot of bass at weekends. We also hear every step.",
        "storey": 1, "budget": "13000",
        "noises": [
            {"kind": "music", "comes_from": "Flat 3 above", "heard_in": "Bedroom", "times": "Friday and Saturday nights", "strongest_at": "Under the ceiling by the window; the bed frame hums", "is_felt": True},
            {"kind": "instrument", "comes_from": "Flat 3 above", "heard_in": "Bedroom", "times": "Afternoons"},
            {"kind": "footsteps", "comes_from": "Flat 3 above", "heard_in": "Bedroom", "times": "All day"},
        ],
        "rooms": [
            {
                "name": "Bedroom", "size": (4600, 3800, 3150),
                "surfaces": [
                    {"letter": "A", "name": "Window wall", "length": 4600, "height": 3150, "role": "flanking", "construction": "stone-wall-450", "condition": "sound", "junction": "lightweight_facade", "junction_length": 4600, "openings": [("window", 700, 750, 1150, 1900, "window-single"), ("window", 2750, 750, 1150, 1900, "window-single")]},
                    {"letter": "B", "name": "Wall to the hall", "length": 3800, "height": 3150, "role": "flanking", "construction": "lath-and-plaster-stud", "condition": "lath", "depth": 60, "junction": "lightweight_facade", "junction_length": 3800, "openings": [("door", 200, 0, 860, 2100, None)]},
                    {"letter": "C", "name": "Wall to the bathroom", "length": 4600, "height": 3150, "role": "flanking", "construction": "half-brick-plastered", "condition": "sound", "junction": "lightweight_facade", "junction_length": 4600},
                    {"letter": "D", "name": "Gable", "length": 3800, "height": 3150, "role": "flanking", "construction": "stone-wall-450", "condition": "sound", "junction": "lightweight_facade", "junction_length": 3800},
                    {"letter": "E", "name": "Ceiling", "face": "ceiling", "length": 4600, "height": 3800, "role": "separating", "construction": "timber-floor-lath-ceiling", "condition": "lath", "depth": 210},
                ],
                "side_paths": [{"kind": "beam", "name": "Boxed beam across the room", "length_mm": 3800, "open_area_mm2": 1500, "note": "Boxing is 9 mm board, hollow."}],
            },
        ],
        "schemes": [
            ("Clips", "The old ceiling comes down; a new one hangs on isolating clips under the joists.", {"E": "clip-ceiling-75"}),
            ("Independent", "A new ceiling on joists of its own, touching nothing above it, the beam cased, and the wall to the hall opened, filled and boarded on bars.", {"E": "independent-ceiling-205", "B": "partition-bar-upgrade-50", "Boxed beam across the room": "beam-casing-80"}),
        ],
        "gates": {},
        "extras": [("provisional", "Allowance for repairs to joists found on opening up", "1", "sum", "350.00")],
        "offers": [
            ("finishing", "Mist coat and two coats of paint on the new ceiling", "White, on the fresh plaster once it is dry, about a week after the rest.", "385.00"),
            ("details", "Threshold and drop-down seals to the bedroom door", "Closes the gap under and round the door, against noise from the stairs.", "148.00"),
        ],
        "questions": [
            ("Can the picture rail stay where it is?", "Yes. We cut the new ceiling to it and seal the joint; the rail is not touched."),
            ("Could the work wait until the second half of the month? The lease wants three weeks' notice.", ""),
        ],
        "ends": "sent",
    },
    {
        "title": "Cello practice room, not to disturb the flat next door",
        "customer": ("Ines Thackwray-Osei", "ines@household.example", "07700 900213"),
        "home": {
            "address_line_1": "31 Bellhanger Court", "town": "Little Saltmere", "postcode": "ZX6 5DN", "kind": "flat",
            "built": "1981_1999", "tenure": "leasehold", "access_note": "Lift holds a 2,400 mm board on the diagonal.", "parking_note": "Visitor bays, permit from the caretaker.",
        },
        "wish": "I practise three hours a day. I do not want the neighbours to hear it as music they know.",
        "storey": 3, "budget": "5500",
        "noises": [{"kind": "instrument", "direction": "out", "comes_from": "Our study", "heard_in": "Bedroom of Flat 32", "times": "Weekdays 10 to 1"}],
        "rooms": [
            {
                "name": "Study", "size": (2650, 3400, 2380),
                "surfaces": [
                    {"letter": "A", "name": "Window wall", "length": 2650, "role": "flanking", "construction": "external-cavity-filled", "condition": "board_on_dabs", "depth": 60, "junction": "lightweight_facade", "openings": [("window", 600, 900, 1450, 1200, "window-double")]},
                    {"letter": "B", "name": "Party wall", "length": 3400, "role": "separating", "construction": "cavity-light-block", "condition": "board_on_dabs", "depth": 100, "boxes": 2},
                    {"letter": "C", "name": "Wall to the kitchen", "length": 2650, "role": "flanking", "construction": "light-block-plastered", "condition": "sound", "junction": "rigid_t"},
                    {"letter": "D", "name": "Wall to the hall", "length": 3400, "role": "other", "construction": "steel-stud-partition", "condition": "board", "openings": [("door", 250, 0, 830, 2030, None)]},
                    {"letter": "E", "name": "Ceiling", "face": "ceiling", "length": 2650, "height": 3400, "role": "flanking", "construction": "concrete-floor", "condition": "sound", "junction": "rigid_cross", "junction_length": 3400},
                    {"letter": "F", "name": "Floor", "face": "floor", "length": 2650, "height": 3400, "role": "flanking", "construction": "concrete-floor", "condition": "sound", "junction": "rigid_cross", "junction_length": 3400},
                ],
                "side_paths": [{"kind": "leak", "name": "Back-to-back sockets", "open_area_mm2": 260, "length_mm": 600, "note": "One pair lines up with the neighbour's."}],
            },
        ],
        "schemes": [("First draft", "A free-standing lining on the party wall once the loose board is off, and a slim one on the window wall, which would carry the most then.", {"B": "independent-timber-lining-100", "A": "slim-bar-lining-50", "Back-to-back sockets": "gap-sealing"})],
        "gates": {"asbestos": ("unknown", "", "", None)},
        "extras": [], "ends": "surveyed",
    },
    {
        "title": "Loft room beside the neighbour's bathroom",
        "customer": ("Rhoswen Addlestrop", "rhoswen@household.example", "07700 900214"),
        "home": {"address_line_1": "3 Fiddler's Gate", "town": "Wexcombe", "postcode": "ZX4 8LJ", "kind": "semi", "built": "pre_1919", "tenure": "freehold", "access_note": "", "parking_note": "Permit zone; we send a scratch card."},
        "wish": "The waste pipe next door wakes our son, and voices come through the gable.",
        "storey": 2, "budget": None,
        "noises": [
            {"kind": "pipes", "comes_from": "No. 5, stack behind the gable", "heard_in": "Loft bedroom", "times": "Early morning"},
            {"kind": "speech", "comes_from": "No. 5, bathroom", "heard_in": "Loft bedroom", "times": "Mornings", "words": "murmur"},
        ],
        "rooms": [], "schemes": [], "gates": {}, "extras": [], "ends": "survey_booked", "visits": [(3, ["idris"])], "purpose": "survey",
    },
    {
        "title": "Nursery over the garage workshop",
        "customer": ("Callum Verity-Nnadi", "callum@household.example", "07700 900215"),
        "home": {"address_line_1": "Orchard End, Back Drove", "town": "Great Saltmere", "postcode": "ZX7 1AE", "kind": "detached", "built": "2000_on", "tenure": "freehold", "access_note": "", "parking_note": ""},
        "wish": "The baby's room is over the workshop: compressor and radio come straight up.",
        "storey": 1, "budget": None,
        "noises": [{"kind": "appliance", "comes_from": "Workshop below", "heard_in": "Nursery", "times": "Weekdays"}],
        "rooms": [], "schemes": [], "gates": {}, "extras": [], "ends": "enquiry",
    },
    {
        "title": "Consulting room wall to the waiting area",
        "customer": ("Priya Lanthorn", "priya@household.example", "07700 900216"),
        "home": {"address_line_1": "The Annexe, 9 Sexton's Row", "town": "Wexcombe", "postcode": "ZX2 4TT", "kind": "other", "built": "1965_1980", "tenure": "tenant", "access_note": "Side door, code by text.", "parking_note": "On street."},
        "wish": "What is said in my room at home must not be understood by those who wait outside it.",
        "storey": 0, "budget": "3000",
        "noises": [{"kind": "speech", "direction": "out", "comes_from": "Consulting room", "heard_in": "Waiting area", "times": "Appointments", "words": "all"}],
        "rooms": [
            {
                "name": "Consulting room", "size": (3300, 2900, 2400),
                "surfaces": [
                    {"letter": "A", "name": "Wall to the waiting area", "length": 3300, "role": "separating", "construction": "stud-partition", "condition": "board", "depth": 60, "boxes": 1},
                    {"letter": "B", "name": "Outside wall", "length": 2900, "role": "flanking", "construction": "external-cavity", "condition": "sound", "junction": "lightweight_facade", "openings": [("window", 700, 900, 1200, 1050, "window-double")]},
                    {"letter": "C", "name": "Back wall", "length": 3300, "role": "other", "construction": "dense-block-plastered", "condition": "sound"},
                    {"letter": "D", "name": "Wall to the store", "length": 2900, "role": "flanking", "construction": "dense-block-plastered", "condition": "sound", "junction": "lightweight_facade"},
                    {"letter": "E", "name": "Ceiling", "face": "ceiling", "length": 3300, "height": 2900, "role": "other", "construction": "loft-ceiling-board", "condition": "board"},
                    {"letter": "F", "name": "Floor", "face": "floor", "length": 3300, "height": 2900, "role": "flanking", "construction": "concrete-floor", "condition": "sound", "junction": "lightweight_facade", "junction_length": 3300},
                ],
                "side_paths": [{"kind": "roof_void", "name": "Roof void over the partition", "length_mm": 3300, "note": "The partition stops at the ceiling."}],
            },
        ],
        "schemes": [("Partition rebuilt", "The partition is opened on your side, filled, and boarded on bars; the gap above it is closed.", {"A": "partition-bar-upgrade-50", "Roof void over the partition": "roof-void-closing"})],
        "gates": dict.fromkeys(("structure", "flue", "ventilation", "fire"), ("not_needed", "Looked at on the survey: none in this room", "", None)) | {
            "asbestos": ("needed", "Samples of the ceiling coating: none found", "Accredited laboratory", -60),
            "electrics": ("needed", "One point moved, certificate filed", "Registered electrician", -40),
            "consent": ("needed", "Landlord's letter", "Landlord", -55),
        },
        "extras": [], "ends": "complete", "accepts": "Partition rebuilt", "visits": [(-31, ["beatriz"]), (-30, ["beatriz"])], "ticks": 99,
    },
    {
        "title": "Loft bedroom under the eaves, gable shared with next door",
        "customer": ("Anselm Quarrington", "anselm@household.example", "07700 900217"),
        "home": {"address_line_1": "22 Ropewalk Steps", "town": "Wexcombe", "postcode": "ZX3 5PD", "kind": "terrace", "built": "1945_1964", "tenure": "freehold", "access_note": "Steep stair with a turn: boards of 1,800 mm at most.", "parking_note": "Loading bay before 10."},
        "wish": "Their music comes through the gable, over the bed.",
        "storey": 2, "budget": "6000",
        "noises": [{"kind": "music", "comes_from": "Loft of No. 24", "heard_in": "Loft bedroom", "times": "Friday and Saturday nights", "words": "murmur"}],
        "rooms": [], "walked": "loft",
        "schemes": [("Gable lined", "A free-standing lining on the gable up to the slope, a strip at the nib left clear.", {"F": "independent-timber-lining-100"})],
        "gates": {}, "extras": [], "ends": "surveyed",
    },
    {
        "title": "Bathroom pump heard in the box room",
        "customer": ("Odile Harrowgate-Penn", "odile@household.example", "07700 900233"),
        "home": {"address_line_1": "8 Tannery Row", "town": "Wexcombe", "postcode": "ZX4 2DQ", "kind": "terrace", "built": "1965_1980", "tenure": "freehold", "access_note": "", "parking_note": ""},
        "wish": "A pump hums through the wall whenever somebody showers.",
        "storey": 1, "budget": None,
        "noises": [{"kind": "appliance", "comes_from": "Own bathroom", "heard_in": "Box room", "times": "Mornings"}],
        "rooms": [], "schemes": [], "gates": {}, "extras": [], "ends": "lost",
        "note": "A plumber has set the pump on rubber feet, and that was all it took.",
    },
]  # fmt: skip
