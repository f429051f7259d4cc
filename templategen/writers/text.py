"""Text that is already in its format."""

from __future__ import annotations


def encode(text: str) -> bytes:
    return text.encode()
