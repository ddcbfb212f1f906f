"""The working band as a chart."""

import bpy

from striderule.draw.band_chart import band_chart, chart_pixels

from .. import live, scene, viewport
from ..ids import Operator
from ..reporting import reported
from .base import has_shot


class STRIDERULE_OT_band_chart(bpy.types.Operator):
    """Draw this leg's hip height against foot distance, with what ends it and the walk's own way, in an image editor"""

    bl_idname = Operator.BAND_CHART
    bl_label = "Band Chart"
    bl_options = {"REGISTER"}

    leg: bpy.props.StringProperty(name="Leg", description="Name the leg; none is the first one")

    @classmethod
    def poll(cls, context):
        return has_shot(cls, context)

    def execute(self, context):
        with reported(self):
            plan, _ = live.plan_of(context.scene)
            if self.leg and self.leg not in plan.legs:
                self.report({"ERROR"}, f"No leg is called {self.leg}: there are {', '.join(plan.legs)}")
                return {"CANCELLED"}
            leg = plan.legs.index(self.leg) if self.leg else 0
            pixels = chart_pixels(band_chart(plan.shot.puppet, leg, plan))
            image = scene.chart(context.scene, f"band {plan.legs[leg]}", pixels)
            if not viewport.show_image(context, image):
                self.report({"INFO"}, f"Drawn as the image {image.name}: open it in an image editor")
            return {"FINISHED"}
        return {"CANCELLED"}


CLASSES = (STRIDERULE_OT_band_chart,)
