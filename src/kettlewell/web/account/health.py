"""The address by which a watching program sees that the server answers."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from kettlewell.records.book_file import book_ask


@require_safe
@never_cache
def health(_request: HttpRequest) -> HttpResponse:
    """Say that the server and its day book answer; where the day book does not, the answer is a 503."""
    book_ask()
    return HttpResponse("ok\n", content_type="text/plain; charset=utf-8")
