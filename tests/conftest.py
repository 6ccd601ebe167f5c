import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--oracles",
        metavar="FILE",
        action="append",
        default=[],
        help="also check the published figures in this TOML file (may be given more than once)",
    )
