"""Screen bearings and shaft seals before they are used.

Packages, outermost first: ``cli``, ``dock``, ``reports``, ``receiving``, ``records``, ``looking``, ``audit``,
``screening`` beside ``vision`` and ``codes``, ``metrology``, ``parts``, ``specs``. Imports point downward only.
"""

__version__ = "0.1.0"
