"""The rules across rows and logs, one SELECT each that returns nothing when all is well, and what asks them."""
