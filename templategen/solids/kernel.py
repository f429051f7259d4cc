"""Every name of the CAD kernel that the solids room uses, on one page. Import this inside functions only: it takes
half a second.
"""

from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Surface
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeVertex,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepFilletAPI import BRepFilletAPI_MakeChamfer, BRepFilletAPI_MakeFillet
from OCP.BRepGProp import BRepGProp
from OCP.BRepLib import BRepLib
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakePrism
from OCP.GeomAbs import GeomAbs_Cone, GeomAbs_Cylinder, GeomAbs_Line, GeomAbs_Plane
from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Lin, gp_Pnt, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector
from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE, TopAbs_SOLID
from OCP.TopExp import TopExp
from OCP.TopoDS import TopoDS
from OCP.TopTools import TopTools_IndexedMapOfShape, TopTools_ListOfShape

__all__ = [
    "BRepAdaptor_Curve",
    "BRepAdaptor_Surface",
    "BRepAlgoAPI_Common",
    "BRepAlgoAPI_Cut",
    "BRepAlgoAPI_Fuse",
    "BRepBndLib",
    "BRepBuilderAPI_MakeEdge",
    "BRepBuilderAPI_MakeFace",
    "BRepBuilderAPI_MakeVertex",
    "BRepBuilderAPI_MakeWire",
    "BRepCheck_Analyzer",
    "BRepFilletAPI_MakeChamfer",
    "BRepFilletAPI_MakeFillet",
    "BRepGProp",
    "BRepLib",
    "BRepPrimAPI_MakeCone",
    "BRepPrimAPI_MakeCylinder",
    "BRepPrimAPI_MakePrism",
    "BRep_Tool",
    "Bnd_Box",
    "GProp_GProps",
    "GeomAbs_Cone",
    "GeomAbs_Cylinder",
    "GeomAbs_Line",
    "GeomAbs_Plane",
    "IntCurvesFace_ShapeIntersector",
    "ShapeUpgrade_UnifySameDomain",
    "TopAbs_EDGE",
    "TopAbs_FACE",
    "TopAbs_SOLID",
    "TopExp",
    "TopTools_IndexedMapOfShape",
    "TopTools_ListOfShape",
    "TopoDS",
    "gp_Ax2",
    "gp_Circ",
    "gp_Dir",
    "gp_Lin",
    "gp_Pnt",
    "gp_Vec",
]
