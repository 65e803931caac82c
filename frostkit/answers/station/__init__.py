"""What the record itself says: frosts, heat, holes, how right the odds were."""
