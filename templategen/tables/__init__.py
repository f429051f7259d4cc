"""Every table of the tool, built once: what a person reads in the terminal, on sheets, in CSV and JSON files.

``model`` is the shape that all of them have and that writers replay; the other files say what stands in which table.
"""
