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

    private static bool NeedsNoMotion(int? method) => method is 35 or 37;

    private static bool NeedsLimitSwitch(int? method) => method is 1 or 2 or 17 or 18;

    public HomingDefinition? Read(LimitsDefinition limits, bool isEndless)
    {
        if (axis.Object("homing", MachineShapes.Homing) is not { } homing)
        {
            return null;
        }

        var hasOwnWay = drive?.Definition.Coding == StateCoding.Bits;
        var method = ReadMethod(homing, hasOwnWay, isEndless);
        var (fast, slow) = ReadSpeeds(homing, limits, hasOwnWay || NeedsNoMotion(method));
        var offset = homing.Number("offset", NumberRange.Any(unit), fallback: 0);
        var timeoutMs = homing.Number("timeoutMs", NumberRange.Above0(Milliseconds.Unit, 3_600_000), DefaultTimeoutMs);
        var order = homing.Integer("order", new NumberRange(0, 1000, ""), fallback: 1);
        CheckDrive();
        return new HomingDefinition(method ?? 0, fast, slow, offset, Milliseconds.ToTime(timeoutMs), order ?? 1);
    }

    private static int? ReadMethod(ObjectReader homing, bool hasOwnWay, bool isEndless)
    {
        var range = new NumberRange(-128, 127, "");
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

    private (double Fast, double Slow) ReadSpeeds(ObjectReader homing, LimitsDefinition limits, bool mayBeLeftOut)
    {
        var range = NumberRange.Above0($"{unit}/s");
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
