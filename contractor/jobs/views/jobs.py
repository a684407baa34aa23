from django.http import Http404


def job_list(request, **kwargs):
    raise Http404


def job_new(request, **kwargs):
    raise Http404


def job_edit(request, **kwargs):
    raise Http404
