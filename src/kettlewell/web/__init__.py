"""The screens: they parse, call and render."""
