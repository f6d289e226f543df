using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads how an axis finds its zero.</summary>
/// <remarks>
/// Left out: offset 0, 30 s, order 1. A drive that finds its reference by a command bit has its own way and speeds: method and speeds may then be left
/// out and count as method 0 at the velocity limit.
/// </remarks>
internal sealed class HomingReader(ObjectReader axis, string unit, DriveDraft? drive)
{
    private const double DefaultTimeoutMs = 30_000;

    /// <summary>Methods of CiA 402 (IEC 61800-7-201, object 6098h); negative ones are the maker's.</summary>
    private static bool IsMethod(int method) => method is (>= -128 and < 0) or (>= 1 and <= 14) or (>= 17 and <= 30) or 33 or 34 or 35 or 37;

    private static readonly Choices<int> Directions = new(("positive", 1), ("negative", -1));

    private static bool NeedsNoMotion(int? method) => method is 35 or 37;

    private static bool NeedsLimitSwitch(int? method) => method is 1 or 2 or 17 or 18;

    public HomingDefinition? Read(LimitsDefinition limits, bool isEndless)
    {
        if (axis.Object("homing", MachineShapes.Homing) is not { } homing)
        {
            return null;
        }

        var hasOwnWay = drive?.Definition.Coding == StateCoding.Bits;
        var hardStop = ReadHardStop(homing, isEndless);
        var method = ReadMethod(homing, hasOwnWay, isEndless, hardStop is not null || homing.Find("hardStop") is not null);
        var (fast, slow) = ReadSpeeds(homing, limits, hasOwnWay || NeedsNoMotion(method) || hardStop is not null, hardStop is not null);
        var offset = homing.Number("offset", NumberRange.Any(unit), fallback: 0);
        var timeoutMs = homing.Number("timeoutMs", NumberRange.Above0(Milliseconds.Unit, 3_600_000), DefaultTimeoutMs);
        var order = homing.Integer("order", new NumberRange(0, 1000, ""), fallback: 1);
        CheckDrive();
        var farthest = homing.Find("distanceLimit") is null ? (double?)null : homing.Number("distanceLimit", NumberRange.Above0(unit), double.NaN);
        return new HomingDefinition(method ?? 0, fast, slow, offset, Milliseconds.ToTime(timeoutMs), order ?? 1)
        {
            DistanceLimit = farthest,
            HardStop = hardStop,
        };
    }

    private HardStopDefinition? ReadHardStop(ObjectReader homing, bool isEndless)
    {
        if (homing.Object("hardStop", MachineShapes.HardStop) is not { } stop)
        {
            return null;
        }

        if (isEndless)
        {
            homing.Refuse("hardStop", "an endless axis has no end stop to press against");
        }

        return new HardStopDefinition(
            stop.Choice("direction", Directions, "\"positive\" or \"negative\": where the stop lies") ?? 1,
            stop.Number("torque", NumberRange.Above0("% of rated", 500), "torque that proves the stop, % of rated"),
            Milliseconds.ToTime(stop.Number("forMs", new NumberRange(1, 10_000, Milliseconds.Unit), "how long the axis must stand and press")),
            stop.Number("backOff", new NumberRange(0, NumberRange.Huge, unit), fallback: 0));
    }

    private static int? ReadMethod(ObjectReader homing, bool hasOwnWay, bool isEndless, bool hasHardStop)
    {
        var range = new NumberRange(-128, 127, "");
        if (hasHardStop)
        {
            // The search is ours; the drive only takes the position at the stop for its zero.
            var zero = homing.Integer("method", range, fallback: 37);
            if (zero is { } given && !NeedsNoMotion(given))
            {
                homing.Refuse("method", $"method {given} looks for the zero by itself; with hardStop the method only sets it: 35 or 37, or leave it out");
            }

            return zero;
        }

        var method = hasOwnWay
            ? homing.Integer("method", range, fallback: 0)
            : homing.Integer("method", range, "homing method number of CiA 402");
        var isGiven = homing.Find("method") is not null;
        if (isGiven && method is { } number && !IsMethod(number))
        {
            homing.Refuse("method", $"{number} is no homing method of CiA 402: 1 to 14, 17 to 30, 33, 34, 35, 37, or the maker's own below 0");
            return null;
        }

        if (isEndless && NeedsLimitSwitch(method))
        {
            homing.Refuse("method", $"method {method} looks for a limit switch, which an endless axis does not have");
        }

        return method;
    }

    private (double Fast, double Slow) ReadSpeeds(ObjectReader homing, LimitsDefinition limits, bool mayBeLeftOut, bool hasHardStop)
    {
        var range = NumberRange.Above0($"{unit}/s");
        if (hasHardStop)
        {
            homing.Require("slow", $"velocity towards the stop, {unit}/s");
        }

        var fast = mayBeLeftOut
            ? homing.Number("fast", range, limits.Velocity)
            : homing.Number("fast", range, $"velocity towards the switch, {unit}/s");
        var slow = mayBeLeftOut
            ? homing.Number("slow", range, fast)
            : homing.Number("slow", range, $"velocity away from or onto the switch, {unit}/s");
        if (fast > limits.Velocity)
        {
            homing.Refuse("fast", $"{Show.Number(fast)} {unit}/s is above limits.velocity {Show.Number(limits.Velocity)} {unit}/s");
        }

        if (slow > fast)
        {
            homing.Refuse("slow", $"{Show.Number(slow)} {unit}/s is above fast {Show.Number(fast)} {unit}/s");
        }

        return (fast, slow);
    }

    private void CheckDrive()
    {
        if (drive is not { IsGood: true, Definition: { Coding: StateCoding.Bits } definition })
        {
            return;
        }

        if (definition.Commands is { FindReference: null })
        {
            axis.Refuse("homing", $"drive {Show.Quoted(definition.Name)} declares neither CiA 402 nor commands.findReference: it can't be homed");
        }
        else if (definition.States is { Referenced: null })
        {
            axis.Refuse("homing", $"drive {Show.Quoted(definition.Name)} declares no states.referenced: the end of homing could not be seen");
        }
    }
}
