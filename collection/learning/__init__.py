"""What the museum's own checks say of the rates: histories, learned rates, a back-test. Pure: frames in, frames out."""
