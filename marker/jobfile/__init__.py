"""The job file: TOML to a Job, and a Job to TOML."""
