"""What each object asks for now, with reasons."""
