"""Pattern PDFs in and out."""
