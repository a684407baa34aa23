"""Customers and homes: found, written down, mended."""

import pytest
from django.urls import reverse

from contractor.customers.models import Customer, Property
from tests.factories import CustomerFactory, JobFactory, PropertyFactory

CUSTOMER = {"name": "Ms and Mr Sedge", "email": "sedge@example.com", "phone": "", "notes": ""}
HOME = {
    "address_line_1": "4 Osier Walk",
    "address_line_2": "",
    "town": "Fenwick Marsh",
    "postcode": "zz99zz",
    "kind": "conversion",
    "built": "pre_1919",
    "tenure": "leasehold",
    "access_note": "Key next door",
    "parking_note": "",
}


def page(response) -> str:
    return response.content.decode()


def test_from_a_new_customer_to_the_home_to_the_job(office):
    to_home = office.post(reverse("customers:new"), CUSTOMER)
    customer = Customer.objects.get()
    assert to_home.url == reverse("customers:property-new", args=[customer.pk])

    to_customer = office.post(to_home.url, HOME)
    home = Property.objects.get()
    assert home.postcode == "ZZ9 9ZZ"
    assert f"{reverse('jobs:new')}?property={home.pk}" in page(office.get(to_customer.url))


def test_a_customer_must_be_reachable(office):
    response = office.post(reverse("customers:new"), CUSTOMER | {"email": ""})
    assert response.status_code == 200
    assert "so that they can be reached" in page(response)
    assert 'value="Ms and Mr Sedge"' in page(response)
    assert not Customer.objects.exists()


def test_a_home_without_a_town_keeps_what_was_typed(office):
    customer = CustomerFactory()
    response = office.post(reverse("customers:property-new", args=[customer.pk]), HOME | {"town": ""})
    assert response.status_code == 200
    assert 'aria-invalid="true"' in page(response)
    assert 'value="4 Osier Walk"' in page(response) and "Key next door" in page(response)
    assert not Property.objects.exists()


def test_editing_a_customer_and_a_home(office):
    home = PropertyFactory()
    office.post(reverse("customers:edit", args=[home.customer_id]), CUSTOMER)
    office.post(reverse("customers:property-edit", args=[home.pk]), HOME | {"is_listed": "on"})
    home.refresh_from_db()
    assert home.customer.name == "Ms and Mr Sedge"
    assert home.is_listed and home.tenure == "leasehold"


@pytest.mark.parametrize("words", ["sedge", "ZZ9 1AB", "zz91ab", "960123", "sedge@"])
def test_customers_are_found_by_name_contact_or_postcode(office, words):
    found = CustomerFactory(name="Ines Sedge", email="sedge@example.com", phone="01632 960123")
    PropertyFactory(customer=found, postcode="ZZ9 1AB")
    PropertyFactory(customer__name="Someone else", postcode="ZZ8 8ZZ")
    text = page(office.get(reverse("customers:list"), {"q": words}))
    assert "Ines Sedge" in text and "Someone else" not in text


def test_typing_in_the_search_fetches_the_table_alone(office):
    CustomerFactory(name="Ines Sedge")
    text = page(
        office.get(
            reverse("customers:list"), {"q": "sed"}, headers={"hx-request": "true", "hx-target": "customer-table"}
        )
    )
    assert "Ines Sedge" in text and "<html" not in text


def test_a_search_without_result_says_what_helps(office):
    assert "A part of the name" in page(office.get(reverse("customers:list"), {"q": "nobody"}))


def test_the_customer_page_shows_homes_with_their_jobs(office):
    job = JobFactory(title="Nursery ceiling")
    text = page(office.get(reverse("customers:customer", args=[job.property.customer_id])))
    assert "Nursery ceiling" in text and job.property.one_line in text


def test_an_unknown_customer_or_home_is_not_found(office):
    assert office.get(reverse("customers:customer", args=[999])).status_code == 404
    assert office.get(reverse("customers:property-edit", args=[999])).status_code == 404


# Session, user, count, customers with their number of jobs, their homes.
LIST_QUERIES = 5
# Session, user, customer, homes, jobs.
PAGE_QUERIES = 5


def test_customer_list_queries_do_not_grow(office, count_queries):
    JobFactory()
    one = count_queries(office, reverse("customers:list"))
    JobFactory.create_batch(3)
    assert one == count_queries(office, reverse("customers:list")) == LIST_QUERIES


def test_customer_page_queries_do_not_grow(office, count_queries):
    home = PropertyFactory()
    JobFactory(property=home)
    address = reverse("customers:customer", args=[home.customer_id])
    one = count_queries(office, address)
    for _ in range(2):
        JobFactory.create_batch(2, property=PropertyFactory(customer=home.customer))
    assert one == count_queries(office, address) == PAGE_QUERIES
