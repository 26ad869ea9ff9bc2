"""Works out last-cut dates, soil flags and a cutting route; never draws."""
