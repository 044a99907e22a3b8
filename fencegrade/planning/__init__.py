"""The only runners of the pipeline before the first board: whole answers, one module a question."""
