"""What the plan says through the season, held to what was read by eye; `scripts/write_golden.py` writes it anew."""

from scripts.write_golden import GOLDEN, golden


def test_the_sentences_are_those_that_were_read(region):
    found = dict(golden(region))
    assert sorted(found) == sorted(path.name for path in GOLDEN.glob("*.txt"))
    for name, text in found.items():
        assert text == (GOLDEN / name).read_text(encoding="utf-8"), name
