"""Shows what `spatial` worked out; decides nothing."""
