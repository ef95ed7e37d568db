"""The flows: one module for each question a person asks. None of them knows a shell."""
