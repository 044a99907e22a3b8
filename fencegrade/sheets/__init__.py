"""What is shown and written: tables and words, and a room each for screen, drawings, paper and page."""
