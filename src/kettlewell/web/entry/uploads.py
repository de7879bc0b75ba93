"""Files that are taken from a browser, one at a time: in memory, and no larger than each may be."""

from collections.abc import Mapping
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from django.conf import settings
from django.core.exceptions import TooManyFilesSent
from django.core.files.uploadedfile import InMemoryUploadedFile, UploadedFile
from django.core.files.uploadhandler import FileUploadHandler
from django.http import HttpRequest
from django.utils.datastructures import MultiValueDict

from kettlewell.records import photos
from kettlewell.tables import sheets


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A file that an address takes: the field it comes in, and the most bytes of it."""

    field: str
    most: int

    @property
    def most_body(self) -> int:
        """How much of a body the server reads: the file, and what comes with it."""
        return self.most + int(settings.DATA_UPLOAD_MAX_MEMORY_SIZE)


# by the name of the address, which is also the end of its path
TAKEN: Mapping[str, Taken] = {
    "collected": Taken(field="photo", most=photos.MOST_BYTES),
    "tables": Taken(field="table", most=sheets.MOST_BYTES),
}


def taken_by(path: str) -> Taken | None:
    """Return which file an address takes; None where it takes none."""
    return TAKEN.get(path.removesuffix("/").rpartition("/")[2]) if path.endswith("/") else None


def files_of(request: HttpRequest) -> "MultiValueDict[str, UploadedFile[bytes]]":
    """Return the file that was sent; of a body that was cut off, one as large as the body was to be.

    Django knows of no file whose end is missing: what was sent would be written down without it.
    """
    taken = taken_by(request.path)
    length = int(request.META.get("CONTENT_LENGTH") or 0)
    if taken is None or length <= taken.most_body:
        return request.FILES
    cut_off = InMemoryUploadedFile(BytesIO(), taken.field, "cut off", None, length, None)
    return MultiValueDict({taken.field: [cut_off]})


class OneSmallFile(FileUploadHandler):
    """Keeps a file of its field and address, and of one that is too large only how large it is."""

    def new_file(self, field_name: str, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 - Django's
        """Refuse a file that no form asks for."""
        super().new_file(field_name, *args, **kwargs)
        match = self.request.resolver_match if self.request else None
        taken = TAKEN.get(match.url_name or "") if match else None
        if taken is None or field_name != taken.field:
            raise TooManyFilesSent
        self.kept, self.most = BytesIO(), taken.most

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        """Keep what comes up to the largest size."""
        if start + len(raw_data) <= self.most:
            self.kept.write(raw_data)

    def file_complete(self, file_size: int) -> InMemoryUploadedFile:
        """Return the file; its size is that of what was sent."""
        self.kept.seek(0)
        return InMemoryUploadedFile(
            self.kept, self.field_name, self.file_name or "", self.content_type, file_size, self.charset
        )
