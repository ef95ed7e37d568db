"""Pictures of a checked layout: a device-independent scene, and the diagram drawn from it."""
