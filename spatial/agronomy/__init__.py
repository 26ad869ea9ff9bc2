"""What the stand needs: regrowth, last-cut dates, soil, advice."""
