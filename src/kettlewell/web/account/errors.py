"""What is shown when the form's own key is missing or old."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Return the page for a form that was not ours, or was open too long."""
    del reason
    return render(request, "403_csrf.html", status=403)
