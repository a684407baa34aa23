"""Which role may open a view. Strangers are stopped before this by LoginRequiredMiddleware."""

from collections.abc import Callable
from functools import wraps

from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect

from contractor.accounts.models import Role


def roles(*allowed: Role) -> Callable:
    """Decorator: 403 for a signed-in person whose role is not among `allowed`.

    A one-time password opens nothing: its holder is sent to change it first.
    """

    def decorate(view):
        @wraps(view)
        def guarded(request, *args, **kwargs):
            if request.user.password_is_one_time:
                return redirect("accounts:me")
            if request.user.role not in allowed:
                raise PermissionDenied("This page is not open to your role.")
            return view(request, *args, **kwargs)

        return guarded

    return decorate


owner_only = roles(Role.OWNER)
office_only = roles(Role.OWNER, Role.OFFICE)
anyone_signed_in = roles(*Role)
