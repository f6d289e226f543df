using Supervisor.Drives.Coding;
using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>The command an axis has in hand.</summary>
internal enum Hand : byte
{
    None = 0,
    Enable = 1,
    Disable = 2,
    Home = 3,
    Move = 4,
    Contact = 5,
    Reset = 6,
    Jog = 7,
    Prove = 8,
    Support = 9,
}

/// <summary>Power states of a drive: the standard's diagram, not-ready-to-switch-on left out because it passes by itself.</summary>
internal enum Power : byte
{
    SwitchOnDisabled = 0,
    ReadyToSwitchOn = 1,
    SwitchedOn = 2,
    OperationEnabled = 3,
    QuickStopActive = 4,
    FaultReaction = 5,
    Fault = 6,
}

internal enum Motion : byte
{
    Still = 0,
    Slowing = 1,
    Moving = 2,
}

/// <summary>The torque limit that the drive was last told.</summary>
internal enum Limit : byte
{
    Stopping = 0,
    Holding = 1,
    Moving = 2,
    Homing = 3,

    /// <summary>That of a brake's proof.</summary>
    Proof = 4,
}

internal enum Link : byte
{
    Silent = 0,
    Meeting = 1,
    Met = 2,
}

/// <summary>What an axis may do by what was commanded and what happened since: kept by the monitor, never by the table.</summary>
internal enum Permit : byte
{
    /// <summary>No torque.</summary>
    Off = 0,

    /// <summary>Torque, being switched on; no motion.</summary>
    Energising = 1,

    /// <summary>Torque, standing.</summary>
    Torque = 2,

    /// <summary>A move.</summary>
    Motion = 3,

    /// <summary>Torque and the search for the zero.</summary>
    Search = 4,

    /// <summary>Torque that holds a load, standing, its brake closed: nobody commands it, and nothing but a loss of torque or an order to take it ends it.</summary>
    Hold = 5,
}

internal enum Recovering : byte
{
    None = 0,
    Waiting = 1,
    Resetting = 2,
    Approach = 3,
    Returning = 4,
}

/// <summary>Axis, drive, interlocks, authority and recovery as one discrete value. Times are counted in cycles.</summary>
internal struct Composite
{
    // The axis: what the supervisor knows.
    public AxisNode Node;
    public DriveGoal Goal;
    public byte Stage;
    public byte Feedbacks;
    public byte StageCycles;
    public ushort Wanted;
    public ushort Held;
    public bool WantsHoming;
    public bool HoldsHoming;
    public Hand InHand;
    public AxisDeadline Deadline;
    public byte Remaining;
    public bool Faulted;
    public bool Referenced;
    public byte StillSeen;
    public bool MoveTaken;
    public bool StayKnown;
    public Limit Limit;
    public bool Pressing;

    // The bit that keeps the brake closed.
    public bool HoldsBrake;

    // The drive: what is measured.
    public bool BrakeHeld;
    public byte BrakeHeldCycles;
    public Link Link;
    public Power Power;
    public ushort Word;
    public bool Homing;
    public Motion Motion;
    public bool Acknowledged;
    public bool InPosition;
    public bool Pending;

    /// <summary>The target that was written is where the axis stands.</summary>
    public bool HoldsHere;
    public bool HomingError;
    public bool Zero;
    public bool Lagged;
    public bool Jammed;
    public bool Stuck;
    public bool RestartUnnoticed;

    // Around them.

    /// <summary>A cause of category 0 or 1 stands.</summary>
    public bool TorqueForbidden;

    /// <summary>A cause of category 2 stands, or a stop locks the axis: either forbids the same commands. Not told beside the graver one.</summary>
    public bool MotionForbidden;
    public bool Authority;
    public Recovering Recovering;

    // The monitor's memory.
    public Permit Permit;
    public bool AtOnce;
    public byte Owed;
    public byte BrakeCycles;
    public bool KeepingTold;
    public bool SetPointSeen;

    /// <summary>Torque at the motor: the standard's states in which the power stage is enabled.</summary>
    public readonly bool Powered => Power is Power.OperationEnabled or Power.QuickStopActive or Power.FaultReaction;

    /// <summary>The drive has the word that switches torque on, and has not looked at it yet.</summary>
    public readonly bool TorqueIsComing => Lagged && Power == Power.SwitchedOn && (Held & 0x0F) == 0x0F;

    public readonly bool Online => Link == Link.Met;

    /// <summary>The drive holds what the image wants.</summary>
    public readonly bool Clean => Wanted == Held && WantsHoming == HoldsHoming;

    /// <summary>Before the first contact, everything that is not known being possible is reached from here.</summary>
    public static Composite Initial => new() { Node = AxisNode.Connecting, Goal = DriveGoal.QuickStop, Wanted = 2 };

    public readonly Packed Pack()
    {
        var a = new BitWriter();
        a.Put((byte)Node, 6);
        a.Put((byte)Goal, 5);
        a.Put(Stage, 3);
        a.Put(Feedbacks, 2);
        a.Put(StageCycles, 2);
        a.Put(Short(Wanted), 8);
        a.Put(Short(Held), 8);
        a.Put(WantsHoming);
        a.Put(HoldsHoming);
        a.Put((byte)InHand, 4);
        a.Put((byte)Deadline, 5);
        a.Put(Remaining, 4);
        a.Put(Faulted);
        a.Put(Referenced);
        a.Put(StillSeen, 2);
        a.Put(MoveTaken);
        a.Put(StayKnown);
        a.Put((byte)Limit, 3);
        a.Put(Pressing);
        a.Put(HoldsBrake);
        a.Put(BrakeHeld);
        a.Put(BrakeHeldCycles, 2);
        var b = new BitWriter();
        b.Put((byte)Link, 2);
        b.Put((byte)Power, 3);
        b.Put(Short(Word), 8);
        b.Put((byte)Motion, 2);
        b.Put(Homing);
        b.Put(Acknowledged);
        b.Put(InPosition);
        b.Put(Pending);
        b.Put(HomingError);
        b.Put(Zero);
        b.Put(Lagged);
        b.Put(Jammed);
        b.Put(Stuck);
        b.Put(RestartUnnoticed);
        b.Put(TorqueForbidden);
        b.Put(MotionForbidden);
        b.Put(Authority);
        b.Put((byte)Recovering, 3);
        b.Put((byte)Permit, 3);
        b.Put(AtOnce);
        b.Put(Owed, 5);
        b.Put(BrakeCycles, 3);
        b.Put(KeepingTold);
        b.Put(SetPointSeen);
        b.Put(HoldsHere);
        return new Packed(a.Bits, b.Bits);
    }

    /// <summary>A state in words: for the trail that a violation prints.</summary>
    public override readonly string ToString() =>
        $"{Node} goal {Goal}.{Stage} word {Wanted:X3}{(Clean ? "" : "*")} hand {InHand} {Deadline}:{Remaining}{(Faulted ? " FAULT" : "")}{(Referenced ? " ref" : "")}"
        + $" | {Link} {Power} {Motion}{(Pending ? " pending" : "")}{(BrakeHeld ? $" brake held {BrakeHeldCycles}" : "")}{(Zero ? " zero" : "")}{(Lagged ? " lag" : "")}{(Jammed ? " jammed" : "")}{(Stuck ? " stuck" : "")}{(RestartUnnoticed ? " restarted" : "")}"
        + $" | {(TorqueForbidden ? "no-torque " : "")}{(MotionForbidden ? "no-motion " : "")}{(Authority ? "held " : "")}{Recovering} | {Permit}{(AtOnce ? " at once" : "")} owed {Owed} brake {BrakeCycles}";

    // Controlword bits 0 to 5, 7 and 8 are all that is used.
    private static int Short(ushort word) => (word & 0x3F) | ((word >> 1) & 0xC0);

    private struct BitWriter
    {
        private int _at;

        public ulong Bits { get; private set; }

        public void Put(int value, int width)
        {
            Bits |= (ulong)value << _at;
            _at += width;
        }

        public void Put(bool value) => Put(value ? 1 : 0, 1);
    }
}

/// <summary>A composite state in 128 bits.</summary>
internal readonly struct Packed(ulong a, ulong b) : IEquatable<Packed>
{
    private readonly ulong _a = a;
    private readonly ulong _b = b;

    public bool Equals(Packed other) => _a == other._a && _b == other._b;

    public override bool Equals(object? obj) => obj is Packed other && Equals(other);

    public override int GetHashCode()
    {
        var mixed = (_a * 0x9E3779B97F4A7C15UL) ^ (_b * 0xC2B2AE3D27D4EB4FUL);
        return (int)(mixed >> 32) ^ (int)mixed;
    }
}
