"""Text around the face of a part, read from the straightened ring."""

from screener.vision.marks.reading import MarksSeen, read_marks

__all__ = ["MarksSeen", "read_marks"]
