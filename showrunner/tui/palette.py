"""The command palette's entries: everything that keys can do on the screen that is up."""

from functools import partial

from textual.command import DiscoveryHit, Hit, Hits, Provider


class Actions(Provider):
    """Every action of the screen that can be done now, with its key."""

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
        found: dict[str, tuple[str, str, str]] = {}
        for active in self.screen.active_bindings.values():
            binding = active.binding
            if active.enabled and active.node is self.screen and binding.description:
                key = self.app.get_key_display(binding)
                found.setdefault(binding.action, (binding.description, binding.action, key))
        return list(found.values())
