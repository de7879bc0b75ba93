"""What can be done with a kitchen, each a use case: the only room that knows both the day book and the core.

Its modules are imported by name; this one hands nothing on.
"""
