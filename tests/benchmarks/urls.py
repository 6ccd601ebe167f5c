from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.urls import include, path


@login_not_required
def bare(request: HttpRequest) -> HttpResponse:
    return HttpResponse("Nothing but Django.")


urlpatterns = [path("bare/", bare), path("", include("darkroom.urls"))]
