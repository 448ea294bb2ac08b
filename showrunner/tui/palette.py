"""The command palette's entries: everything that keys can do on the screen that is up."""

from functools import partial

from textual.command import DiscoveryHit, Hit, Hits, Provider

OTHERS = ("go.", "book.", "app.")
"""How the names of actions begin that every screen on the book has."""


class Actions(Provider):
    """Every action of the screen and of the table that has the keys, with its key, if it can be done now."""

    async def discover(self) -> Hits:
        """All of them."""
        for title, action, key in self._actions():
            yield DiscoveryHit(title, partial(self.app.run_action, action, self.screen), help=f"key {key}")

    async def search(self, query: str) -> Hits:
        """Those that fit what was typed."""
        matcher = self.matcher(query)
        for title, action, key in self._actions():
            score = matcher.match(title)
            if score > 0:
                run = partial(self.app.run_action, action, self.screen)
                yield Hit(score, matcher.highlight(title), run, help=f"key {key}")

    def _actions(self) -> list[tuple[str, str, str]]:
        """Title, action and key; what the screen itself does first, then the ways to others."""
        found: dict[str, tuple[str, str, str]] = {}
        active = [each for each in self.screen.active_bindings.values() if each.enabled and each.binding.description]
        for binding in sorted((each.binding for each in active), key=lambda each: (each.id or "").startswith(OTHERS)):
            if binding.id is not None and binding.id != "app.more":
                key = self.app.get_key_display(binding)
                found.setdefault(binding.action, (binding.tooltip or binding.description, binding.action, key))
        return list(found.values())
