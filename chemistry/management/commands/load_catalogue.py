from typing import Any

from django.core.management.base import BaseCommand, CommandError

from chemistry.catalogue.load import load_catalogue
from chemistry.catalogue.schema import CatalogueFault


class Command(BaseCommand):
    help = "Load recipes, processes, films, times and formats. Loading again changes nothing."

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            loaded = load_catalogue()
        except CatalogueFault as fault:
            raise CommandError(str(fault)) from fault
        self.stdout.write(f"Catalogue: {loaded}.")
