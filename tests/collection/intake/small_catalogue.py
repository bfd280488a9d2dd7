"""The headings of a small invented catalogue and a row of it with nothing wrong: tests add the row they are about."""

HEAD = "object_id,title,technique,base_metal,height_mm,earliest_year,condition_remark_on"
GOOD = "V.1,Plaque,painted,copper,120,1750,1986"
