"""Low ground: what closes it, longer boards, soil or kickboards, and what that costs."""
