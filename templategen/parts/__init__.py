"""What the shop makes, one room per part: its drawing, its solid, its findings, its cautions.

A part is a module with a function ``make(instrument) -> tuple[Product, ...]``; ``register`` lists them. A part reads
the instrument and computes no number that another room would need too.
"""
