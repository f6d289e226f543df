using Supervisor.Records.Axes;

namespace Supervisor.Runtime.Axes;

/// <summary>State and detail of an axis as one discrete value: the nodes of the diagram.</summary>
public enum AxisNode : byte
{
    Connecting = 0,
    Off = 1,
    Energising = 2,
    BrakeReleasing = 3,
    HomeEnergising = 4,
    HomeBrakeReleasing = 5,
    Searching = 6,
    HomeStopping = 7,
    Ready = 8,
    Running = 9,
    Halting = 10,
    StoppingToOff = 11,
    BrakeClosing = 12,
    PoweringOff = 13,
    FaultStopping = 14,
    FaultBrakeClosing = 15,
    FaultPoweringOff = 16,
    FaultOff = 17,
    FaultClearing = 18,
    Jogging = 19,

    /// <summary>Standing by torque while the brake closes for its proof.</summary>
    ProofBrakeClosing = 20,

    /// <summary>Pushing against the closed brake.</summary>
    ProvingBrake = 21,

    /// <summary>The brake is proven and opens.</summary>
    ProofBrakeReleasing = 22,

    /// <summary>The brake failed its proof under a load: the motor holds it, the brake closed beside it, until a person says that it is supported.</summary>
    FaultHolding = 23,
}

/// <summary>What a node shows to people.</summary>
public static class AxisNodes
{
    /// <summary>The state a node belongs to.</summary>
    public static AxisState State(this AxisNode node) => node switch
    {
        AxisNode.HomeEnergising or AxisNode.HomeBrakeReleasing or AxisNode.Searching or AxisNode.HomeStopping => AxisState.Homing,
        AxisNode.Ready or AxisNode.ProofBrakeClosing or AxisNode.ProvingBrake or AxisNode.ProofBrakeReleasing => AxisState.Ready,
        AxisNode.Running or AxisNode.Jogging or AxisNode.Halting or AxisNode.StoppingToOff => AxisState.Moving,
        >= AxisNode.FaultStopping => AxisState.Faulted,
        _ => AxisState.Disabled,
    };

    /// <summary>The step inside the state, as far as the node alone tells it.</summary>
    public static AxisDetail Detail(this AxisNode node) => node switch
    {
        AxisNode.Connecting => AxisDetail.Connecting,
        AxisNode.Energising or AxisNode.BrakeReleasing or AxisNode.HomeEnergising or AxisNode.HomeBrakeReleasing => AxisDetail.Energising,
        AxisNode.HomeStopping or AxisNode.Halting or AxisNode.StoppingToOff or AxisNode.FaultStopping => AxisDetail.Stopping,
        AxisNode.BrakeClosing or AxisNode.PoweringOff or AxisNode.FaultBrakeClosing or AxisNode.FaultPoweringOff => AxisDetail.Deenergising,
        AxisNode.ProofBrakeClosing or AxisNode.ProvingBrake or AxisNode.ProofBrakeReleasing => AxisDetail.ProvingBrake,
        AxisNode.FaultHolding => AxisDetail.HoldingLoad,
        _ => AxisDetail.None,
    };
}
