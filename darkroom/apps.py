from django.apps import AppConfig
from django.contrib.admin.apps import AdminConfig


class DarkroomConfig(AppConfig):
    name = "darkroom"


class OfficeConfig(AdminConfig):
    default_site = "darkroom.office.Office"
