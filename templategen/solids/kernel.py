"""Every name of the CAD kernel that the solids room uses, on one page. Import this inside functions only: it takes
half a second.
"""

from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Surface
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_Copy,
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeVertex,
    BRepBuilderAPI_MakeWire,
    BRepBuilderAPI_Transform,
)
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepClass3d import BRepClass3d_SolidClassifier
from OCP.BRepGProp import BRepGProp
from OCP.BRepLib import BRepLib
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakePrism, BRepPrimAPI_MakeRevol
from OCP.Geom2dAPI import Geom2dAPI_Interpolate
from OCP.GeomAbs import (
    GeomAbs_Circle,
    GeomAbs_Cone,
    GeomAbs_Cylinder,
    GeomAbs_Ellipse,
    GeomAbs_Line,
    GeomAbs_Plane,
    GeomAbs_Torus,
)
from OCP.GeomAPI import GeomAPI_Interpolate
from OCP.gp import gp_Ax1, gp_Ax2, gp_Circ, gp_Dir, gp_Pnt, gp_Pnt2d, gp_Trsf, gp_Vec, gp_Vec2d
from OCP.GProp import GProp_GProps
from OCP.ShapeAnalysis import ShapeAnalysis_Surface
from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
from OCP.TColgp import TColgp_HArray1OfPnt, TColgp_HArray1OfPnt2d
from OCP.TColStd import TColStd_HArray1OfReal
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE, TopAbs_OUT, TopAbs_SOLID
from OCP.TopExp import TopExp
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS
from OCP.TopTools import TopTools_IndexedDataMapOfShapeListOfShape, TopTools_IndexedMapOfShape, TopTools_ListOfShape

__all__ = [
    "BRepAdaptor_Curve",
    "BRepAdaptor_Surface",
    "BRepAlgoAPI_Common",
    "BRepAlgoAPI_Cut",
    "BRepAlgoAPI_Fuse",
    "BRepBndLib",
    "BRepBuilderAPI_Copy",
    "BRepBuilderAPI_MakeEdge",
    "BRepBuilderAPI_MakeFace",
    "BRepBuilderAPI_MakeVertex",
    "BRepBuilderAPI_MakeWire",
    "BRepBuilderAPI_Transform",
    "BRepCheck_Analyzer",
    "BRepClass3d_SolidClassifier",
    "BRepGProp",
    "BRepLib",
    "BRepPrimAPI_MakeCone",
    "BRepPrimAPI_MakeCylinder",
    "BRepPrimAPI_MakePrism",
    "BRepPrimAPI_MakeRevol",
    "BRep_Builder",
    "BRep_Tool",
    "Bnd_Box",
    "GProp_GProps",
    "Geom2dAPI_Interpolate",
    "GeomAPI_Interpolate",
    "GeomAbs_Circle",
    "GeomAbs_Cone",
    "GeomAbs_Cylinder",
    "GeomAbs_Ellipse",
    "GeomAbs_Line",
    "GeomAbs_Plane",
    "GeomAbs_Torus",
    "ShapeAnalysis_Surface",
    "ShapeUpgrade_UnifySameDomain",
    "TColStd_HArray1OfReal",
    "TColgp_HArray1OfPnt",
    "TColgp_HArray1OfPnt2d",
    "TopAbs_EDGE",
    "TopAbs_FACE",
    "TopAbs_OUT",
    "TopAbs_SOLID",
    "TopExp",
    "TopLoc_Location",
    "TopTools_IndexedDataMapOfShapeListOfShape",
    "TopTools_IndexedMapOfShape",
    "TopTools_ListOfShape",
    "TopoDS",
    "gp_Ax1",
    "gp_Ax2",
    "gp_Circ",
    "gp_Dir",
    "gp_Pnt",
    "gp_Pnt2d",
    "gp_Trsf",
    "gp_Vec",
    "gp_Vec2d",
]
