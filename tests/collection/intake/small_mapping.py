"""How a small mapping begins: tests add the sections they are about."""

HEAD = 'record = "object"\n[columns]\n"Number" = "object_id"\n"Tall" = "height_mm"\n'
