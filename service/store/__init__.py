"""Where catalogs come from: the embedded folder or Redis, with a cache in front."""
