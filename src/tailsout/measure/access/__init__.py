"""Access copies: samples of a master, corrected where asked, at another rate and depth, encoded."""
