"""The same answers for many places: by blocks, on dask."""
