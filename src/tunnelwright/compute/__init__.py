"""Running kernels over many rings and samples."""

from tunnelwright.compute.chunks import chunked_map, rows_per_chunk

__all__ = ["chunked_map", "rows_per_chunk"]
