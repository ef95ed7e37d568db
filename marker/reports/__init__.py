"""Facts for a person or a program: from each report its JSON and its text."""
