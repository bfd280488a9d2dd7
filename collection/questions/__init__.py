"""Questions asked of the collection and its risk: frames in, one frame out; no store, no file."""
