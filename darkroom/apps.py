from django.apps import AppConfig


class DarkroomConfig(AppConfig):
    name = "darkroom"
