"""From a survey through the real calculation to a document and its PDF, with the catalogue as it is shipped."""

import io
import re
from decimal import Decimal
from math import prod

import pytest
from pypdf import PdfReader

from contractor.catalogue.models import BuildUp, Construction
from contractor.catalogue.services import load_seed
from contractor.quotes import paper, services
from contractor.quotes.options import options_of
from tests.factories import PatchFactory, RoomFactory, SchemeFactory, SurfaceFactory, TreatmentFactory


@pytest.fixture
def surveyed(firm):
    """A bedroom with a party wall of one brick, blown plaster and two sockets, lined with the independent frame."""
    load_seed()
    room = RoomFactory(name="Bedroom")
    brick = Construction.objects.get(key="one-brick-plastered")
    wall = SurfaceFactory(room=room, letter="B", name="Party wall", boxes=2)
    patch = PatchFactory(surface=wall, construction=brick, condition="blown")
    outside = SurfaceFactory(
        room=room, letter="C", name="Front wall", role="flanking", junction="rigid_t", junction_length_mm=2400
    )
    PatchFactory(surface=outside, construction=Construction.objects.get(key="external-solid-brick"))
    scheme = SchemeFactory(job=room.job, name="Party wall")
    TreatmentFactory(scheme=scheme, patch=patch, build_up=BuildUp.objects.get(key="independent-steel-lining-95"))
    return room.job


def test_a_surveyed_wall_becomes_a_price_that_can_be_traced(surveyed):
    (option,) = options_of(surveyed)
    assert option.priced.problems == ()
    sections = {section.key: section for section in option.priced.sections}
    assert {"preliminaries", "preparation", "linings", "by_others", "finishing"} <= set(sections)
    (lining,) = sections["linings"].lines
    assert lining.quantity == Decimal("8.64")  # 3600 × 2400 mm
    takeoff = option.calculation.takeoff
    bought = sum(Decimal(line["cost"]) for line in takeoff["buy"])
    quantity, materials, _, labour, *_ = lining.trace
    assert (quantity.label, quantity.working) == ("Quantity", "3,600 × 2,400 mm")
    assert materials.amount == bought  # one face: its share is all that is bought
    assert re.fullmatch(r"[\d.]+ h × £38.00 an hour; the hours: 8.64 m² × [\d.]+ h each m²( × .+)?", labour.working)
    hours, allowed = re.findall(r"([\d.]+) h", labour.working)[:2]
    factors = [Decimal(found) for found in re.findall(r" × ([\d.]+) \(", labour.working)]
    assert abs(Decimal(hours) - prod(factors, start=lining.quantity * Decimal(allowed))) <= Decimal("0.01")
    assert sections["by_others"].lines[0].quantity == 2


def test_it_is_frozen_with_its_plan_and_drawn_on_paper(surveyed, sender):
    sent = services.send(job=surveyed, user=sender, valid_days=30)
    (room,) = sent.revision.document["rooms"]
    assert room["plan"]["caption"].endswith("What is tinted carries it past.")
    assert sum(way["percent"] for way in room["ways_in"]) == 100
    option = sent.revision.document["options"][0]
    before, after = (option["rooms"][0]["prediction"][state]["weighted_db"] for state in ("before", "after"))
    assert after > before
    pdf = PdfReader(io.BytesIO(paper.proposal_pdf(sent.revision, None)))
    text = " ".join(" ".join(page.extract_text() for page in pdf.pages).split())
    assert f"goes from {before} to {after} dB" in text
    assert f"£{Decimal(option['total']):,.2f}" in text


def test_a_second_option_adds_no_queries(surveyed, office, count_queries):
    page = f"/jobs/{surveyed.number}/quote/"
    office.get(page)  # works the option out and keeps it
    one = count_queries(office, page)
    first = surveyed.schemes.get()
    for number in (2, 3):
        another = SchemeFactory(job=surveyed, name=f"Option {number}", position=number)
        TreatmentFactory(
            scheme=another, patch=first.treatments.get().patch, build_up=BuildUp.objects.get(key="slim-bar-lining-50")
        )
    office.get(page)
    assert count_queries(office, page) == one
