"""Print the oldest versions that pyproject.toml allows of what the program runs on."""

import re
import tomllib

with open("pyproject.toml", "rb") as file:
    project = tomllib.load(file)["project"]
extras = project["optional-dependencies"]
for needed in [*project["dependencies"], *extras["postgres"], *extras["server"]]:
    name, oldest = re.match(r"([\w.\[\]-]+?)>=([\w.]+)", needed).groups()
    print(f"{name}=={oldest}")
