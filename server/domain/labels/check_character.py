"""The check character of a donation identification number: ISO/IEC 7064, MOD 37-2.

Source: ICCBBA ST-001 v6.2.2 (2023), 7.5: over the 13 characters, without data identifier and
flags. It catches every single wrong character and every swap of two neighbours.
"""

from typing import Final

ALPHABET: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
_VALUES: Final = {character: value for value, character in enumerate(ALPHABET)}
_MODULUS: Final = 37
_RADIX: Final = 2
_FIRST_FLAG: Final = 60


def check_value(number: str) -> int:
    """The check value, 0 to 36, of a number of digits and capital letters."""
    total = 0
    for character in number:
        total = (total + _VALUES[character]) * _RADIX % _MODULUS
    return (1 - total) % _MODULUS


def check_character(number: str) -> str:
    """The check character that is printed in a box behind the number."""
    return ALPHABET[check_value(number)]


def check_flags(number: str) -> str:
    """The two flags, 60 to 96, that carry the check value in the bar code itself."""
    return str(_FIRST_FLAG + check_value(number))
