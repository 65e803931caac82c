"""Pages that stand alone: the report, the field sheet. They show answers and decide nothing."""
