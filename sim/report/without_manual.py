"""Importing the drawing library in half the time."""


def without_manual() -> None:
    """Spare this process the manual pages that matplotlib writes for its classes while it is imported.

    They take half of the time of its import. This is for programs of our own, before anything imports what draws: in
    the same process, ``help`` of such a class then names no properties.
    """
    from matplotlib import artist

    def none(_: object) -> str:
        return ""

    setattr(artist, "kwdoc", none)  # noqa: B010  # matplotlib has no option for it
