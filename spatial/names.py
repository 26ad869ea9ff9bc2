"""Names as they are compared: capitals, blanks, hyphens, dots and small figures forgiven."""

import unicodedata


def plain(name: str) -> str:
    """Return the letters and digits of a name, in lower case; the small 2 of CaCl2 is a 2."""
    letters = unicodedata.normalize("NFKC", name).lower()
    return "".join(letter for letter in letters if letter.isalnum())
