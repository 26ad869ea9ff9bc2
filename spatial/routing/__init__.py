"""Who cuts which field on which day."""
