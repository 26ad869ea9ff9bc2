"""What the cells of a soil survey say: keys that compare, and drainage classes."""

import re

import pandas as pd

from spatial.inputs.cells import MISSING, text_of
from spatial.inputs.checks import Report, listed
from spatial.soil import DRAINAGE

_PARTS = re.compile(r"[/,;&]| and | or | to ")


def keys_of(raw: pd.Series) -> pd.Series:
    """Return keys as text that compares: 545800, 545800.0 and " 545800 " are one; "" where missing."""
    text = text_of(raw).str.strip('"').str.strip()
    whole = text.str.replace(r"^(\d+)\.0*$", r"\1", regex=True).astype(object)
    return whole.mask(whole.str.lower().isin(MISSING), "")


def drainage_classes(said: pd.Series, file: str, report: Report) -> pd.Series:
    """Return the drainage classes of `DRAINAGE`; the wettest where several are said, "" where none is known."""
    words = text_of(said)
    known = {word: _class_of(word) for word in words.unique()}
    strange = sorted(word for word, name in known.items() if not name and word.lower() not in MISSING)
    if strange:
        cause = "is no drainage class of the survey, so not used"
        report.tell(file, listed("drainage", map(repr, strange)), cause, f"Use one of: {', '.join(DRAINAGE)}")
    return words.map(known).astype(object)


def _class_of(said: str) -> str:
    wetness = {name: place for place, name in enumerate(DRAINAGE)}
    parts = [" ".join(re.split(r"[\s_-]+", part.strip().lower())) for part in _PARTS.split(said.lower())]
    names = [part if part in wetness else f"{part} drained" for part in parts]
    return max((name for name in names if name in wetness), key=wetness.__getitem__, default="")
