"""A person's edits, laid over the machine's draft.

The draft and the edits are two files; the lesson is the edits applied to the draft. An edit names its place
by a moment or a stretch of the recording, so that it still finds it after a better draft has moved or
renumbered the chapters. One that no longer fits is kept and shown as a check, never dropped.
"""
