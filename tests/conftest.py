"""Property tests of the check: the same examples each time, so that a commit passes or does not."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("check", settings.get_profile("ci"), max_examples=40)
