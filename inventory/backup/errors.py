"""Why an archive, or the database it should go into, is refused."""


class ArchiveRefused(Exception):
    """The archive cannot be made or restored; the message says what was expected and what came."""
