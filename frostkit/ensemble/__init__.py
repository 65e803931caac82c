"""Possible seasons: a station's record as the seasons that an answer counts over."""
