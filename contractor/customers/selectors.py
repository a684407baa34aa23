"""Reads of customers and their homes."""

from django.db.models import Count, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce, Replace
from django.http import Http404

from contractor.customers.models import Customer, Property


def customers_matching(words: str = "") -> QuerySet[Customer]:
    """Customers by name, e-mail, phone or the postcode of a home, with their homes and how many there are."""
    its_jobs = Property.objects.filter(customer=OuterRef("pk")).order_by().values("customer").annotate(n=Count("jobs"))
    customers = Customer.objects.prefetch_related("properties").annotate(
        job_count=Coalesce(Subquery(its_jobs.values("n")), 0)
    )
    words = " ".join(words.split())
    if not words:
        return customers
    tight = words.replace(" ", "").upper()
    at_postcode = Property.objects.alias(tight=Replace("postcode", Value(" "), Value(""))).filter(tight__contains=tight)
    found = Q(name__icontains=words) | Q(email__icontains=words) | Q(phone__contains=words)
    return customers.filter(found | Q(pk__in=at_postcode.values("customer")))


def customer_for(customer_id: int) -> Customer:
    """The customer with homes and their jobs; Http404 where there is none. Three queries."""
    try:
        return Customer.objects.prefetch_related("properties__jobs").get(pk=customer_id)
    except Customer.DoesNotExist:
        raise Http404("There is no such customer.") from None


def property_for(property_id: int) -> Property:
    """The home with its customer; Http404 where there is none."""
    try:
        return Property.objects.select_related("customer").get(pk=property_id)
    except Property.DoesNotExist:
        raise Http404("There is no such home.") from None
