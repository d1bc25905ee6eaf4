"""All that a store says of itself, so that two stores can be held against each other."""

from typing import Any

from wallbill.store.ports import Store


def everything(store: Store) -> dict[str, Any]:
    """Every value of a store, by what it was asked."""
    displays = [each.name for each in store.installed()]
    mark, up = store.editions_up()
    history = {name: list(store.history(name, most=1000)) for name in displays}
    digests = {each.digest for editions in history.values() for each in editions}
    return {
        "installed": list(store.installed()),
        "keys": sorted(store.keys(), key=lambda key: key.digest),
        "asked": list(store.asked()),
        "mark": mark,
        "up": list(up),
        "history": history,
        "impressions": {digest: store.impression(digest) for digest in digests},
        "pressings": list(store.pressings(most=1000)),
        "looked": store.looked(),
        "contacts": list(store.contacts()),
        "reports": {name: list(store.reports(name)) for name in displays},
        "notices": list(store.notices(ended=True)),
        "people": list(store.people()),
    }
