"""What cannot be done, told to the person in the browser."""

from riffract.formats.problem import Problem


class RefusedError(Exception):
    """An action that cannot be done as it was asked for.

    Attributes:
        problem: what is wrong, where, and how to mend it.
    """

    def __init__(self, what: str, *, mend: str = "", place: str = "") -> None:
        super().__init__(what)
        self.problem = Problem(what=what, mend=mend, place=place)

    @classmethod
    def of(cls, problem: Problem) -> "RefusedError":
        """Refuse for a problem that is known already."""
        return cls(problem.what, mend=problem.mend, place=problem.place)
