"""What a JSON Schema says."""

import re


def numeric_keys(node):
    """Yield the name of every property that is a number, at any depth."""
    if isinstance(node, list):
        for each in node:
            yield from numeric_keys(each)
    if isinstance(node, dict):
        for key, value in node.get("properties", {}).items():
            if re.search("number|integer", str(value.get("type"))):
                yield key
        for value in node.values():
            yield from numeric_keys(value)
