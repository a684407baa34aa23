from django.http import Http404


def programme(request, **kwargs):
    raise Http404


def visit_new(request, **kwargs):
    raise Http404


def visit(request, **kwargs):
    raise Http404


def visit_delete(request, **kwargs):
    raise Http404


def diary(request, **kwargs):
    raise Http404
