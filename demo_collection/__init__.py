"""The invented demonstration collection: the Harbour Museum of Applied Arts at Vellmouth, which does not exist.

`python -m demo_collection.generator FOLDER` draws its files into an empty folder; `demo_collection.manifest` lists
those that are shipped, and how they are brought in.
"""
