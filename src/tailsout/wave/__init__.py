"""The octets of the Broadcast Wave family: what the standards lay down, and nothing of reels."""
