"""From a wiring catalogue to answers, pages and a quiz about a failure."""

import os

# Pydantic looks for plugins in every installed package: nothing here has any, and a command waits.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
