"""The page in the browser: routes and static files over `marker.planning`."""
