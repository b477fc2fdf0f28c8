"""The phone's link as a QR code, in characters for a terminal."""

from __future__ import annotations

import io

import segno


def qr_code(link: str) -> str:
    """The link as a code that a camera reads off the screen (ISO/IEC 18004)."""
    drawn = io.StringIO()
    segno.make(link, error="m").terminal(out=drawn, compact=True)
    return drawn.getvalue()
