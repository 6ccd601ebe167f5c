from django.apps import AppConfig


class ChemistryConfig(AppConfig):
    name = "chemistry"
