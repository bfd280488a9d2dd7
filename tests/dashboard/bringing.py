"""Bringing a file in on the page: a small catalogue, and what a person does with it."""

CATALOGUE = b"""Inv. no.;Title;Material;Height;Colour
A.1;Bowl;Enamel on copper;12;blue
A.2;Tray;Champleve enamel on copper alloy;30;green
"""


def field(app, name):
    return next(box for box in app.selectbox if name in box.label)


def show(app):
    return app.button(key="show").click().run()


def bring(app, who="Ida"):
    app.text_input(key="bring_in_by").set_value(who).run()
    return app.button(key="bring").click().run()
