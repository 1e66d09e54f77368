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
    def of(cls, problem: Problem, *, file: str = "") -> "RefusedError":
        """Refuse for a problem that is known already, and that lies in a file."""
        line = f"line {problem.line}" if problem.line else ""
        place = problem.place or ", ".join(filter(None, (file, line)))
        return cls(problem.what, mend=problem.mend, place=place)


class LeftError(RefusedError):
    """What was asked for will not be there: the essay was left, or the work on it stopped."""
