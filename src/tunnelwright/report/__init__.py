"""What leaves the program as drawings and tables.

figure        the figure record: panels, axes, items with a meaning and no colour
svg           our printer of figures, for pages with classes, for the book with print colours
inputs        what the builders need: plain arrays by push with the three places of a push
known_strips  the strips every drive has, with names, units, places and reading rows
drive_sheet, push_chart, face_sheet, ring_rail, legend   builders and the legend
ink, hatch    colours, line weights, dashes, hatches: each has one meaning
"""
