from django.http import Http404


def customer_list(request, **kwargs):
    raise Http404


def customer_new(request, **kwargs):
    raise Http404


def customer(request, **kwargs):
    raise Http404


def customer_edit(request, **kwargs):
    raise Http404


def property_new(request, **kwargs):
    raise Http404


def property_edit(request, **kwargs):
    raise Http404
