"""Benchmarks: quality against published figures, kernel speed, growth with size. Run by hand."""
