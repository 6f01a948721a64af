"""Consumer tape-transport mechanics for benches and training rooms.

Rooms, from the ground up: ``errors``, ``say``, ``handbook``; ``gears``, ``cams``, ``drives``;
``transports``; ``bench``; ``draw`` and ``teaching``; ``panels``.  Each room imports only from the
floors below it, and importing ``mechlib`` itself loads none of them.
"""

__version__ = "0.1.0"
