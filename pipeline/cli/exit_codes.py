"""How every command ends."""

DONE = 0
BOOK_HAS_ERRORS = 1
WRONG_USE = 2
MACHINE_FAILED = 3
"""The disk is full, a file may not be read or written, a part of the program failed."""
