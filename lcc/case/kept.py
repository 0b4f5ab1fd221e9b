"""Results kept for the very same parts of a case, so that one changed figure remakes only its own.

Parts compare without their origins, on which cautions and words rest; so a part counts as the same
only where it is one object. Parts never change, and an entry holds those that it is kept for.
"""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from functools import wraps
from threading import Lock
from typing import Any, TypeVar

from lcc.case.fields import CasePart

Found = TypeVar("Found", bound=Callable[..., Any])


def kept(most: int) -> Callable[[Found], Found]:
    """Return a decorator that keeps the last results of a pure function of parts and plain values.

    Parameters
    ----------
    most : int
        How many results are kept, those used last.

    Examples
    --------
    >>> from lcc.case import Membrane
    >>> made = []
    >>> @kept(2)
    ... def seen(part, times=1):
    ...     made.append(part)
    ...     return part.covering * times
    >>> one, same = Membrane(covering="tpo-white"), Membrane(covering="tpo-white")
    >>> seen(one), seen(one), seen(same), len(made)
    ('tpo-white', 'tpo-white', 'tpo-white', 2)
    """

    def decorated(function: Any) -> Any:
        results: OrderedDict[Hashable, tuple[Any, Any]] = OrderedDict()
        lock = Lock()

        @wraps(function)
        def found(*args: Any, **named: Any) -> Any:
            key = (_key(args), *((name, _key(value)) for name, value in named.items()))
            with lock:
                if key in results:
                    results.move_to_end(key)
                    return results[key][1]
            result = function(*args, **named)
            with lock:
                results[key] = (args, named), result
                while len(results) > most:
                    results.popitem(last=False)
            return result

        return found

    return decorated


def _key(value: Any) -> Hashable:
    if isinstance(value, CasePart):
        return CasePart, id(value)
    if isinstance(value, tuple):
        return tuple(map(_key, value))
    return type(value), value
