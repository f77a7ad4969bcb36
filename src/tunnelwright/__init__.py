"""Plan and control the drive of a pressurised-face shield, ring by ring."""
