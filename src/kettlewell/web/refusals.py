"""What a use case refuses, shown in the form that asked."""

from collections.abc import Mapping

from django import forms
from django.core.exceptions import ValidationError

NO_NAMES: Mapping[str, str] = {}


def refuse(form: forms.BaseForm, error: ValidationError, *, called: Mapping[str, str] = NO_NAMES) -> None:
    """Show what was refused at its field; above the form where it has none.

    ``called`` are the fields that the form calls otherwise than the use case does.
    """
    if not hasattr(error, "error_dict"):
        form.add_error(None, error)
        return
    for name, errors in error.error_dict.items():
        field = called.get(name, name)
        form.add_error(field if field in form.fields else None, errors)
