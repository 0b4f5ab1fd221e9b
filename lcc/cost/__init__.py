"""The money of a roof: its programme of work year by year, present values and measures."""
