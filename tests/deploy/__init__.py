"""The deployment files: each linted, started without a container engine where that is possible, and held to what the service does."""
