"""What click says to whoever types a command, marked for the catalogue.

click looks its texts up itself; each one stands here as it does there.
"""

from kettlewell.telling import N_

WHOLE = N_("whole number")
HELP = N_("Show this message and exit.")


def NN_(one: str, many: str) -> tuple[str, str]:  # noqa: N802 - as N_
    """Return a text and its plural unchanged; the name marks them for the catalogue."""
    return one, many


TEXTS = (
    N_("Usage:"),
    N_("[OPTIONS]"),
    N_("COMMAND [ARGS]..."),
    N_("Positional arguments"),
    N_("Options"),
    N_("Commands"),
    N_("TEXT"),
    N_("FILE"),
    N_("WHOLE NUMBER"),
    N_("FOLDER"),
    N_("SIGN_IN"),
    N_("default: {default}"),
    N_("required"),
    N_("Aborted!"),
    N_("Try '{command} {option}' for help."),
    N_("Error: {message}"),
    N_("Error: The two entered values do not match."),
    N_("Invalid value: {message}"),
    N_("Invalid value for {param_hint}: {message}"),
    N_("Missing command."),
    N_("Missing argument"),
    N_("Missing option"),
    N_("No such command {name!r}."),
    N_("No such option {name!r}."),
    N_("Option {name!r} does not take a value."),
    N_("file"),
    N_("path"),
    N_("{name} {filename!r} does not exist."),
    N_("{name} {filename!r} is a directory."),
    N_("{value!r} is not a valid {number_type}."),
    N_("{value} is not in the range {range}."),
    NN_("Did you mean {possibility}?", "(Did you mean one of: {possibilities}?)"),
    NN_("Got unexpected extra argument ({args})", "Got unexpected extra arguments ({args})"),
    NN_("Option {name!r} requires an argument.", "Option {name!r} requires {nargs} arguments."),
)
