"""CP-SAT models and proven bounds."""
