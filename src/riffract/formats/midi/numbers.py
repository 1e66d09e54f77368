"""Numbers of variable length: seven bits a byte, the highest bit says that more follow."""

from typing import Final

LARGEST_VARIABLE: Final = 0x0FFFFFFF
MOST_VARIABLE_BYTES: Final = 4


class BrokenFileError(ValueError):
    """The bytes are no Standard MIDI File: what is wrong, and at which byte from 0."""

    def __init__(self, what: str, byte: int) -> None:
        super().__init__(what)
        self.what = what
        self.byte = byte


def variable_bytes(number: int) -> bytes:
    """Write a number of variable length.

    Raises:
        ValueError: if it takes more than 28 bits.

    Source: Standard MIDI Files 1.0, its table of variable-length quantities.

    >>> variable_bytes(0x7F).hex(), variable_bytes(0x80).hex(), variable_bytes(0x0FFFFFFF).hex()
    ('7f', '8100', 'ffffff7f')
    """
    if not 0 <= number <= LARGEST_VARIABLE:
        raise ValueError(f"a number of variable length takes 0 to 28 bits, got {number}")
    written = [number & 0x7F]
    while number := number >> 7:
        written.append(number & 0x7F | 0x80)
    return bytes(reversed(written))


def variable_number(data: bytes, position: int) -> tuple[int, int]:
    """Read a number of variable length.

    Returns:
        The number, and the position behind it.

    Raises:
        BrokenFileError: if it does not end within four bytes.
        IndexError: if the bytes end before it does.

    >>> variable_number(bytes.fromhex("ffffff7f"), 0)
    (268435455, 4)
    """
    number = 0
    for at in range(position, position + MOST_VARIABLE_BYTES):
        byte = data[at]
        number = number << 7 | byte & 0x7F
        if byte < 0x80:
            return number, at + 1
    raise BrokenFileError("a number of variable length does not end", position)
