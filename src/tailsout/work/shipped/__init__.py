"""Invented recipients that come with the program: to learn from, to copy and to change."""
