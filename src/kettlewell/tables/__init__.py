"""A table of any columns that a kitchen kept: its cells read, what its columns mean guessed, its rows told.

Bytes become a ``Sheet`` of bare cells, a sheet gives a first ``Recipe``, and a recipe makes of each
row what is written in the day book, or says why it cannot. Nothing in a file is ever computed.
"""
