"""Documents that are read rather than measured: headings, words, tables, drawings and steps to tick off, in order.

Plain data; the HTML and the PDF writer replay it.
"""
