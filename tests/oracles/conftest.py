"""How many figures were checked, by what they rest on."""

from collections import Counter


def pytest_terminal_summary(terminalreporter):
    counted = Counter(
        value
        for report in terminalreporter.stats.get("passed", [])
        for name, value in getattr(report, "user_properties", [])
        if name == "standing" and report.when == "call"
    )
    if counted:
        listed = ", ".join(f"{count} {standing}" for standing, count in counted.most_common())
        terminalreporter.write_line(f"figures checked: {counted.total()} ({listed})")
