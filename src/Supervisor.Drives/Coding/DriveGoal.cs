namespace Supervisor.Drives.Coding;

/// <summary>What a drive is to be brought to. A goal is pursued over several exchanges until it is reached.</summary>
public enum DriveGoal : byte
{
    /// <summary>Nothing is commanded.</summary>
    None = 0,

    /// <summary>Stop as fast as the drive's quick stop does; reached when the drive took it. Power may go off by itself afterwards.</summary>
    QuickStop = 1,

    /// <summary>Stop in order and keep torque.</summary>
    Halt = 2,

    /// <summary>Torque off from rest, in the order that lets the drive close its brake first.</summary>
    PowerOff = 3,

    /// <summary>Torque on, standing at the actual position.</summary>
    Energise = 4,

    /// <summary>Stay as it is, energised.</summary>
    Hold = 5,

    /// <summary>Find the zero.</summary>
    Home = 6,

    /// <summary>Go to the target in the image; reached when the drive has taken the target.</summary>
    Move = 7,

    /// <summary>Clear the drive's fault.</summary>
    ClearFault = 8,

    /// <summary>Torque off at once, whatever moves: stop category 0.</summary>
    CutPower = 9,

    /// <summary>As <see cref="Move"/>, against a closed brake: what is wanted is the torque.</summary>
    Push = 10,

    /// <summary>As <see cref="Move"/>, to where the axis stands: a motor that pushed leaves off and holds.</summary>
    Stand = 11,
}

/// <summary>Where the pursuit of a goal stands.</summary>
public struct GoalProgress
{
    public DriveGoal Goal;

    /// <summary>Step inside the goal, in the meaning of the coding.</summary>
    public byte Stage;

    /// <summary>Feedbacks seen in this stage.</summary>
    public int Feedbacks;

    /// <summary>When this stage began.</summary>
    public TimeSpan Since;
}

/// <summary>Whether a goal is reached.</summary>
public enum GoalResult : byte
{
    UnderWay = 0,
    Reached = 1,
    Failed = 2,
}
