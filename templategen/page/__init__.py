"""The live page: the shop's own page in the browser, on this machine only.

form      what can be filled in, from the spec models' own descriptions
document  a spec's text and single changes to it that keep everything else as it was written
folder    the files of the chosen folder: list, read, save without overwriting what somebody else wrote
making    ``make`` in a process of its own, with progress and a stop
server    the requests, who may make them, and what they answer
"""
