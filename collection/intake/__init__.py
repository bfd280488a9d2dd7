"""From a file as it comes to accepted rows and problems: read raw, map, read prose, check."""
