"""Service demand of a dwelling by the published methods, line by line.

Consumer of the load profile and the house file. ``dwelling`` holds the facts, ``standard``,
``optional``, ``existing``, ``multifamily`` and ``measured`` the methods (NEC Article 220),
``added`` what a new load does to each of them, ``nonus`` practice from outside the United
States, ``worksheet`` the lines, ``page`` the printable page. Values live in ``seed_data``
(``service_*.csv``) and are read by ``tables``.

Nothing here judges an installation: the authority having jurisdiction and the licensed
electrician decide.
"""
