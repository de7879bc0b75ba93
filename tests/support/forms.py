"""The forms of a page, read as a browser reads them and filled in as a person would."""

from dataclasses import dataclass, field
from html.parser import HTMLParser

NUMBERS = {"pin": "4711", "set_temp_c": "170", "mass_kg": "2", "house_limit_pct": "24"}
USUAL_NUMBER = "2"
TYPED = {
    "key": "F9",
    "parts": "sunflower 60, palm-olein 40",
    "from": "21:00",
    "to": "22:00",
    "until": "2999-01-01T10:00",
    "waste_code": "20 01 25",
    "currency": "",
    "password": "chips at the harbour",
}
FREE = {"text", "search", "password"}
SHUT = {"hidden", "date", "datetime-local", "time", "checkbox"}
UNTICKED = {"has_account"}


@dataclass
class Form:
    """A form: its attributes, its fields with theirs, and its buttons."""

    attributes: dict
    fields: list = field(default_factory=list)
    buttons: list = field(default_factory=list)

    @property
    def writes(self):
        return self.attributes.get("method") == "post"

    def filled(self, text):
        """Return what is sent: the top choices, numbers and times that can be, ``text`` elsewhere."""
        sent = {}
        for tag, attributes in self.fields:
            name, kind = attributes["name"], attributes.get("type", "text")
            if kind == "radio":
                if "checked" in attributes or name not in sent:
                    sent[name] = attributes.get("value", "")
            elif kind == "checkbox" and name not in UNTICKED:
                sent.setdefault(name, []).append(attributes.get("value", "on"))
            elif tag == "select":
                sent[name] = chosen(attributes["options"])
            else:
                sent[name] = typed(name.rpartition("-")[2], attributes, text)
        return sent | self.pressed()

    def pressed(self):
        """Return what the button says by which the form is sent: one without a name where there is one."""
        named = [attributes for attributes in self.buttons if "name" in attributes]
        if not named or len(named) < len(self.buttons):
            return {}
        return {named[0]["name"]: named[0].get("value", "")}

    def everywhere(self, text):
        """Return ``text`` as the value of every field there is."""
        return {attributes["name"]: text for _tag, attributes in self.fields}


def typed(name, attributes, text):
    """Return what is typed into a field; what stands there already stays, but for free text."""
    there, kind = attributes.get("value", ""), attributes.get("type", "text")
    if name in TYPED or kind in SHUT:
        return there or TYPED.get(name, "")
    if "inputmode" in attributes:
        return there or (
            NUMBERS.get(name, USUAL_NUMBER) if "required" in attributes or name in NUMBERS else ""
        )
    return text if kind in FREE else there


def chosen(options):
    """Return the option that is selected, or the first that says something."""
    selected = [option.get("value", "") for option in options if "selected" in option]
    return next((value for value in selected if value), "") or next(
        (option["value"] for option in options if option.get("value")), ""
    )


class Page(HTMLParser):
    """What a page is made of, as far as the tests ask: its elements and its forms."""

    def __init__(self, text):
        super().__init__()
        self.elements, self.forms, self.inside = [], [], False
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        attributes = dict(attributes)
        self.elements.append((tag, attributes))
        if tag == "form":
            self.forms.append(Form(attributes))
            self.inside = True
        elif not self.inside:
            return
        elif tag == "button" and "disabled" not in attributes:
            self.forms[-1].buttons.append(attributes)
        elif tag in {"input", "textarea", "select"} and attributes.get("name"):
            self.forms[-1].fields.append((tag, {**attributes, "options": []}))
        elif tag == "option":
            self.forms[-1].fields[-1][1]["options"].append(attributes)

    def handle_endtag(self, tag):
        self.inside = self.inside and tag != "form"

    handle_startendtag = handle_starttag
