"""Commands whose help and errors are told in the reader's language.

click says its own words through the gettext of the standard library; here that is led to the
program's catalogue, and what the commands say of themselves goes the same way.
"""

import os
from collections.abc import Callable
from gettext import bindtextdomain, gettext, textdomain
from importlib.resources import files
from typing import Any, TypeVar

import click
from click.core import ParameterSource

from kettlewell.cli import parser_words
from kettlewell.telling import N_
from kettlewell.telling.words import DOMAIN, named_locale

C = TypeVar("C", bound=Callable[..., Any] | click.Command)

bindtextdomain(DOMAIN, str(files("kettlewell").joinpath("locale")))
textdomain(DOMAIN)


class _Told:
    """Something that has a help, which is translated when it is shown."""

    _english: str | None = None

    @property
    def help(self) -> str | None:
        """The help in the reader's language."""
        return gettext(self._english) if self._english else self._english

    @help.setter  # noqa: A003 - the property's own
    def help(self, english: str | None) -> None:
        self._english = english


class Option(_Told, click.Option):
    """An option told in the reader's language."""

    def make_metavar(self, ctx: click.Context) -> str:
        """Return the word for its value."""
        return gettext(super().make_metavar(ctx))


class Argument(_Told, click.Argument):
    """An argument told in the reader's language."""

    def make_metavar(self, ctx: click.Context) -> str:
        """Return the word for its value."""
        return gettext(super().make_metavar(ctx))


class Whole(click.IntRange):
    """A whole number within bounds."""

    @property
    def name(self) -> str:  # type: ignore[override]  # nobody sets it
        """What it is called in the reader's language."""
        return gettext(parser_words.WHOLE)


class Command(_Told, click.Command):
    """A command told in the reader's language, which it takes as an option."""

    def __init__(self, *args: Any, **more: Any) -> None:  # noqa: ANN401 - those of click
        """Add the language to its options."""
        super().__init__(*args, **more)
        self.params.append(_language())

    def collect_usage_pieces(self, ctx: click.Context) -> list[str]:
        """Return what stands behind the command's name."""
        return [gettext(piece) for piece in super().collect_usage_pieces(ctx)]

    def get_help_option(self, ctx: click.Context) -> click.Option | None:
        """Return the option that asks for help."""
        option = super().get_help_option(ctx)
        if option:
            option.help = gettext(parser_words.HELP)
        return option


class Group(Command, click.Group):
    """Commands told in the reader's language."""

    command_class = Command
    group_class = type


def asked_for_language() -> bool:
    """Tell whether the command was asked to speak a language, not the terminal alone."""
    context = click.get_current_context(silent=True)
    while context is not None:
        if context.get_parameter_source("language") is ParameterSource.COMMANDLINE:
            return True
        context = context.parent
    return False


def option(*names: str, **more: Any) -> Callable[[C], C]:  # noqa: ANN401 - those of click
    """Return what gives a command an option."""
    return click.option(*names, cls=Option, **more)


def argument(*names: str, **more: Any) -> Callable[[C], C]:  # noqa: ANN401 - those of click
    """Return what gives a command an argument."""
    return click.argument(*names, cls=Argument, **more)


def _language() -> click.Option:
    return Option(
        ["--language"],
        metavar=N_("LANGUAGE"),
        help=N_("Speak this language, such as 'de' or 'en-gb'; the terminal's own unless given."),
        is_eager=True,
        expose_value=False,
        callback=_speak,
    )


def _speak(_ctx: click.Context, _option: click.Parameter, language: str | None) -> None:
    """Have all that is said from here on said in a language: gettext asks LANGUAGE first."""
    if language is None:
        return
    try:
        os.environ["LANGUAGE"] = str(named_locale(language))
    except ValueError as error:
        raise click.BadParameter(str(error)) from None
