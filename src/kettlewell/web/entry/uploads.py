"""The one file that is taken from a browser: a receipt, in memory and no larger than it may be."""

from io import BytesIO
from typing import Any

from django.conf import settings
from django.core.exceptions import TooManyFilesSent
from django.core.files.uploadedfile import InMemoryUploadedFile, UploadedFile
from django.core.files.uploadhandler import FileUploadHandler
from django.http import HttpRequest
from django.utils.datastructures import MultiValueDict

from kettlewell.records.photos import MOST_BYTES

TAKEN_AT, FIELD = "collected", "photo"
MOST_BODY = settings.DATA_UPLOAD_MAX_MEMORY_SIZE + MOST_BYTES  # the server reads no more


def files_of(request: HttpRequest) -> "MultiValueDict[str, UploadedFile[bytes]]":
    """Return the file that was sent; of a body that was cut off, one as large as the body was to be.

    Django knows of no file whose end is missing: what was sent would be written down without it.
    """
    length = int(request.META.get("CONTENT_LENGTH") or 0)
    if length <= MOST_BODY:
        return request.FILES
    cut_off = InMemoryUploadedFile(BytesIO(), FIELD, "cut off", None, length, None)
    return MultiValueDict({FIELD: [cut_off]})


class OneSmallFile(FileUploadHandler):
    """Keeps a file of its field and address, and of one that is too large only how large it is."""

    def new_file(self, field_name: str, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 - Django's
        """Refuse a file that no form asks for."""
        super().new_file(field_name, *args, **kwargs)
        match = self.request.resolver_match if self.request else None
        if match is None or match.url_name != TAKEN_AT or field_name != FIELD:
            raise TooManyFilesSent
        self.kept = BytesIO()

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        """Keep what comes up to the largest size."""
        if start + len(raw_data) <= MOST_BYTES:
            self.kept.write(raw_data)

    def file_complete(self, file_size: int) -> InMemoryUploadedFile:
        """Return the file; its size is that of what was sent."""
        self.kept.seek(0)
        return InMemoryUploadedFile(
            self.kept, self.field_name, self.file_name or "", self.content_type, file_size, self.charset
        )
