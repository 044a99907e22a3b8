"""All that happens after the first board is up: what stands, the rest laid again, leans taken up."""
