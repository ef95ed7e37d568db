"""The plot of cloth against width."""
