"""Signing in and out, one's own account, the firm, its people and the record."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, LogoutView
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.files.storage import default_storage
from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST, require_safe

from contractor.accounts import selectors, services
from contractor.accounts.access import anyone_signed_in, office_only, owner_only
from contractor.accounts.forms import (
    FirmForm,
    LogoForm,
    OwnDetailsForm,
    OwnPasswordForm,
    PersonEditForm,
    PersonForm,
    SignInForm,
)
from contractor.accounts.models import Role
from contractor.common.logos import logo_name


class SignIn(LoginView):
    template_name = "accounts/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True


class SignOut(LogoutView):
    pass


@anyone_signed_in
def home(request: HttpRequest) -> HttpResponse:
    return redirect("jobs:list" if request.user.works_in_office else "fitting:today")


@login_not_required
@require_GET
def healthz(request: HttpRequest) -> HttpResponse:
    return HttpResponse("ok", content_type="text/plain")


def me(request: HttpRequest) -> HttpResponse:
    """Open to a one-time password too: this is where it is changed."""
    changes_password = "old_password" in request.POST
    changes_details = request.method == "POST" and not changes_password
    password_form = OwnPasswordForm(request.user, request.POST if changes_password else None)
    own = selectors.person_for(request.user.pk)  # a copy: an invalid form must not rename the page
    details_form = OwnDetailsForm(request.POST if changes_details else None, instance=own)
    came_with_one_time = request.user.password_is_one_time
    if password_form.is_valid():
        services.own_password_changed(person=request.user, password=password_form.cleaned_data["new_password1"])
        update_session_auth_hash(request, request.user)
        messages.success(request, "Your password is changed.")
        return redirect("home" if came_with_one_time else "accounts:me")
    if details_form.is_valid():
        services.person_update(person=request.user, by=request.user, **details_form.cleaned_data)
        messages.success(request, "Your details are saved.")
        return redirect("accounts:me")
    return render(request, "accounts/me.html", {"details_form": details_form, "password_form": password_form})


@office_only
def firm(request: HttpRequest) -> HttpResponse:
    if request.user.role != Role.OWNER:
        if request.method == "POST":
            raise PermissionDenied("Only the owner changes the firm's settings.")
        return render(request, "accounts/firm_read.html", {"firm": selectors.the_firm()})
    form = FirmForm(request.POST or None, instance=selectors.the_firm())
    if form.is_valid():
        services.firm_update(by=request.user, **form.cleaned_data)
        messages.success(request, "The firm's settings are saved.")
        return redirect("accounts:firm")
    return render(request, "accounts/firm.html", {"form": form, "logo_form": LogoForm()})


@owner_only
@require_POST
def firm_logo(request: HttpRequest) -> HttpResponse:
    """Another logo, or with `none` no logo."""
    if "none" in request.POST:
        services.firm_logo_set(by=request.user, logo=None)
        return redirect(reverse("accounts:firm") + "#logo")
    form = LogoForm(request.POST, request.FILES)
    if form.is_valid():
        services.firm_logo_set(by=request.user, logo=form.cleaned_data["logo"])
        messages.success(request, "The logo is on the firm's letters from the next one on.")
        return redirect(reverse("accounts:firm") + "#logo")
    context = {"form": FirmForm(instance=selectors.the_firm()), "logo_form": form}
    return render(request, "accounts/firm.html", context)


@login_not_required
@require_safe
def logo(request: HttpRequest, digest: str) -> FileResponse:
    """What stands on every letter, so open to all; the address follows from the content and never changes its mind."""
    try:
        file = default_storage.open(logo_name(digest))
    except FileNotFoundError:
        raise Http404("There is no such logo.") from None
    response = FileResponse(file, content_type="image/png")
    response["Cache-Control"] = "public, max-age=31536000, immutable"
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return response


@owner_only
@require_GET
def people(request: HttpRequest) -> HttpResponse:
    return render(request, "accounts/people.html", {"people": selectors.all_people()})


@owner_only
@never_cache
def person_new(request: HttpRequest) -> HttpResponse:
    form = PersonForm(request.POST or None)
    if form.is_valid():
        person, password = services.person_add(by=request.user, **form.cleaned_data)
        return render(request, "accounts/password_once.html", {"person": person, "password": password})
    return render(request, "accounts/person_new.html", {"form": form})


@owner_only
def person(request: HttpRequest, person_id: int) -> HttpResponse:
    found = selectors.person_for(person_id)
    form = PersonEditForm(request.POST or None, instance=found)
    if form.is_valid():
        try:
            services.person_update(person=selectors.person_for(person_id), by=request.user, **form.cleaned_data)
        except ValidationError as refused:
            form.add_error(None, refused)
        else:
            messages.success(request, f"{found.display_name} is saved.")
            return redirect("accounts:people")
    context = {"form": form, "person": selectors.person_for(person_id)}
    return render(request, "accounts/person.html", context)


@owner_only
@require_POST
@never_cache
def person_password(request: HttpRequest, person_id: int) -> HttpResponse:
    found = selectors.person_for(person_id)
    password = services.person_new_password(person=found, by=request.user)
    return render(request, "accounts/password_once.html", {"person": found, "password": password})


@owner_only
@require_GET
def record_page(request: HttpRequest) -> HttpResponse:
    page = Paginator(selectors.the_record(), 50).get_page(request.GET.get("page"))
    return render(request, "accounts/record.html", {"page": page})
