"""Charts of facts over time: lines, bands and bars on axes with round marks."""
