"""Suppliers: whom materials are bought from, entered by the firm and named by none of the shipped rows."""

import pytest
from django.urls import reverse

from contractor.accounts.models import AuditEntry
from contractor.catalogue.models import Material, Supplier
from contractor.catalogue.seeding import load_seed
from contractor.rooms.inputs import _row
from tests.factories import BrickFactory, MaterialFactory

pytestmark = pytest.mark.django_db


def test_a_new_supplier_takes_the_kinds_that_nobody_supplies(office):
    board, held = MaterialFactory(), MaterialFactory(supplier=Supplier.objects.create(name="Mere Boards"))
    brick = BrickFactory()
    page = office.get(reverse("catalogue:supplier-new")).content.decode()
    assert "Boards (1)" in page

    response = office.post(reverse("catalogue:supplier-new"), {"name": " Tarn  Timber ", "kinds": ["board"]})

    made = Supplier.objects.get(name="Tarn Timber")
    assert response.url == made.get_absolute_url()
    for material in (board, held, brick):
        material.refresh_from_db()
    assert (board.supplier, held.supplier.name, brick.supplier) == (made, "Mere Boards", None)
    assert AuditEntry.objects.get(action="supplier added").detail["materials_taken"] == 1


def test_a_name_is_given_once_and_nothing_typed_is_lost(office):
    Supplier.objects.create(name="Mere Boards")
    response = office.post(
        reverse("catalogue:supplier-new"), {"name": "mere boards", "email": "not one", "account_note": "No. 7"}
    )
    page = response.content.decode()
    assert response.status_code == 200
    assert "Another supplier has this name" in page and "valid email" in page
    assert 'value="No. 7"' in page and 'value="not one"' in page


def test_a_supplier_in_use_stays_and_says_for_what(office):
    supplier = Supplier.objects.create(name="Mere Boards")
    material = MaterialFactory(supplier=supplier)
    page = office.post(reverse("catalogue:supplier-delete", args=[supplier.pk])).content.decode()
    assert "It is in use" in page and material.get_absolute_url() in page

    Material.objects.update(supplier=None)
    office.post(reverse("catalogue:supplier-delete", args=[supplier.pk]))
    assert not Supplier.objects.exists()


def test_a_material_says_where_it_is_bought(office):
    supplier, material = Supplier.objects.create(name="Mere Boards"), MaterialFactory()
    page = office.get(material.get_absolute_url())
    form = page.context["form"]
    data = {name: form[name].value() for name in form.fields if form[name].value() not in (None, False)}
    office.post(material.get_absolute_url(), data | {"supplier": supplier.pk})
    material.refresh_from_db()
    assert material.supplier == supplier
    assert material.get_absolute_url() in office.get(supplier.get_absolute_url()).content.decode()


def test_whom_it_is_bought_from_changes_no_calculation():
    material = MaterialFactory()
    before = _row(material)
    material.supplier = Supplier.objects.create(name="Mere Boards")
    assert _row(material) == before


def test_the_list_costs_the_same_for_one_and_for_three(office, count_queries):
    url = reverse("catalogue:suppliers")
    Supplier.objects.create(name="One")
    count_queries(office, url)
    one = count_queries(office, url)
    for name in ("Two", "Three"):
        MaterialFactory(supplier=Supplier.objects.create(name=name))
    assert count_queries(office, url) == one


def test_no_supplier_is_shipped():
    load_seed()
    assert not Supplier.objects.exists()
    assert not Material.objects.filter(supplier__isnull=False).exists()
