"""What stops a build."""


class BuildError(Exception):
    """A plain sentence on what is wrong and what to do."""
