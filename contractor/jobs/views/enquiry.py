from django.http import Http404


def job(request, **kwargs):
    raise Http404


def stage(request, **kwargs):
    raise Http404


def noise_new(request, **kwargs):
    raise Http404


def noise(request, **kwargs):
    raise Http404


def noise_delete(request, **kwargs):
    raise Http404


def gate(request, **kwargs):
    raise Http404
