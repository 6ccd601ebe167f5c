from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("", include("sessions.urls")),
    path("", include("chemistry.urls")),
    path("", include("darkroom.places")),
    path("office/", admin.site.urls),
]
