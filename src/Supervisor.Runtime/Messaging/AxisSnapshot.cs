using Supervisor.Motion.Heating;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.Runtime.Messaging;

/// <summary>An axis as its port knows it. Positions in the axis's unit, torque in percent of rated.</summary>
public struct AxisSnapshot
{
    /// <summary>Monotonic time of the last good feedback.</summary>
    public TimeSpan At;
    public AxisState State;
    public AxisDetail Detail;

    /// <summary>First contact was made and the drive answers.</summary>
    public bool Online;
    public bool Referenced;

    /// <summary>The drive says torque is on.</summary>
    public bool TorqueOn;

    /// <summary>Measured velocity is below the standstill threshold.</summary>
    public bool AtRest;

    /// <summary>Position; within one period for an endless axis.</summary>
    public double Position;
    public double Velocity;
    public double Torque;

    /// <summary>Computed heat of the motor, percent of the one at which a drive trips; NaN when it is not modelled.</summary>
    public double HeatPercent;

    /// <summary>Root mean square of the torque over the last minute, percent of rated; NaN when the drive reports none.</summary>
    public double TorqueRmsPercent;

    /// <summary>The torque's squares summed since the start, percent of rated: what a cycle's root mean square is made of.</summary>
    public LoadSum TorqueLoad;

    /// <summary>Last commanded target.</summary>
    public double Target;

    /// <summary>Bit i: the i-th input the drive definition declares.</summary>
    public uint Inputs;

    /// <summary>Stop causes that hold this axis (bits of <see cref="Stops.StopLatch"/>).</summary>
    public ulong Causes;
    public FaultCode Fault;
    public ushort DriveCode;

    /// <summary>Failed among the drive's last exchanges, percent.</summary>
    public double ErrorPercent;

    /// <summary>The fault is a drive's communication time-out that was provoked on purpose: nobody was told of it.</summary>
    public bool IsFaultProvoked;

    /// <summary>1 and the index of the zone that the fault is about; 0 for none.</summary>
    public short FaultZone;

    /// <summary>The span of positions it may come to before a stop that is called for now has it at rest, unit; turns of an endless axis are not taken off.</summary>
    public double ReachLower;
    public double ReachUpper;

    /// <summary>Until then its drive is left unasked on purpose, and its reach is the whole way that it was given; zero: it is asked.</summary>
    public TimeSpan UnaskedUntil;

    /// <summary>It moves by a command, or is being stopped.</summary>
    public bool Moves;

    /// <summary>From where a distance would be counted, unit; turns of an endless axis are not taken off.</summary>
    public double DistanceFrom;

    /// <summary>Command in hand, 0 when none.</summary>
    public ulong CommandId;

    /// <summary>The newest stop request this axis has acted on.</summary>
    public int StopEpochSeen;

    /// <summary>It was stopped and has not been released: it refuses motion.</summary>
    public bool StopLocked;
}

/// <summary>A port as its stepper knows it.</summary>
public struct PortSnapshot
{
    /// <summary>Monotonic time of the last step: the stepper's heartbeat.</summary>
    public TimeSpan At;
    public bool Open;

    /// <summary>Transactions answered.</summary>
    public long Exchanges;

    /// <summary>Transactions that were not.</summary>
    public long Errors;

    /// <summary>Failed among the last exchanges with its units that were met, percent.</summary>
    public double ErrorPercent;

    /// <summary>Its adapter hears what it sends: nothing on it counts as answered.</summary>
    public bool HearsItself;

    /// <summary>Transactions, and those not answered, in the last minute and hour.</summary>
    public long ExchangesLastMinute;
    public long ErrorsLastMinute;
    public long ExchangesLastHour;
    public long ErrorsLastHour;

    /// <summary>Cycles that were skipped, as the one before took too long or the thread was kept from running: since the start, and in the last minute and hour.</summary>
    public long Overruns;
    public long OverrunsLastMinute;
    public long OverrunsLastHour;

    /// <summary>Greatest lateness of a cycle's beginning: since the start, and in the last minute and hour.</summary>
    public TimeSpan WorstLate;
    public TimeSpan WorstLateLastMinute;
    public TimeSpan WorstLateLastHour;

    /// <summary>Faults that were not told because the coordinator took none: it counts them for the history.</summary>
    public long FaultsLost;

    /// <summary>Median and 99th percentile of recent transactions.</summary>
    public TimeSpan ExchangeP50;
    public TimeSpan ExchangeP99;
}
