"""Condition over time: what really got worse, what only looked so, and how long repairs last. Frames in, frames out."""
