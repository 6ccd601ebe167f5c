"""Hazard statements by their code.

Source: the standard wording of the Globally Harmonised System; EUH as in Regulation (EC) 1272/2008,
annexes II and III. Only the codes that the catalogue uses.
"""

from __future__ import annotations

from collections.abc import Mapping

STATEMENTS: Mapping[str, str] = {
    "H301": "Toxic if swallowed",
    "H302": "Harmful if swallowed",
    "H311": "Toxic in contact with skin",
    "H314": "Causes severe skin burns and eye damage",
    "H315": "Causes skin irritation",
    "H317": "May cause an allergic skin reaction",
    "H318": "Causes serious eye damage",
    "H319": "Causes serious eye irritation",
    "H332": "Harmful if inhaled",
    "H335": "May cause respiratory irritation",
    "H341": "Suspected of causing genetic defects",
    "H350": "May cause cancer",
    "H351": "Suspected of causing cancer",
    "H360FD": "May damage fertility; may damage the unborn child",
    "H373": "May cause damage to organs through prolonged or repeated exposure",
    "H400": "Very toxic to aquatic life",
    "H410": "Very toxic to aquatic life with long lasting effects",
    "H411": "Toxic to aquatic life with long lasting effects",
    "H412": "Harmful to aquatic life with long lasting effects",
    "EUH031": "Contact with acids liberates toxic gas",
    "EUH208": "Contains a sensitiser; may produce an allergic reaction",
}
