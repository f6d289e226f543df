using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Machines;
using Supervisor.Drives.Exchange;

namespace Supervisor.Runtime.Contact;

/// <summary>What the steps of a first contact come to.</summary>
public enum ContactResult : byte
{
    UnderWay = 0,
    Complete = 1,

    /// <summary>A parameter that must have a value did not take it.</summary>
    Rejected = 2,
}

/// <summary>
/// What is read and set, register by register, after a drive's stop went out and before it may be commanded: identity, uptime, homed
/// flag, and the parameters that the machine file fixes, each compared first and written only where it differs.
/// </summary>
public sealed class FirstContact
{
    private readonly Parameter[] _parameters;
    private int _at;
    private int _frame;
    private Phase _phase;

    internal FirstContact(ExchangePlan plan, AxisDefinition axis)
    {
        var parameters = new List<Parameter>();
        SerialNumber = Add(plan, parameters, "serialNumber", null);
        Uptime = Add(plan, parameters, "uptime", null);
        Homed = Add(plan, parameters, "homed", null);
        var timeout = plan.Drive.Parameter("communicationTimeout");
        Add(plan, parameters, "communicationTimeout",
            timeout?.Unit == "s" ? axis.CommunicationTimeout.TotalSeconds : axis.CommunicationTimeout.TotalMilliseconds);
        if (axis.Homing is { } homing)
        {
            var sign = axis.Inverted ? -1 : 1;
            Add(plan, parameters, "homingMethod", homing.Method);
            Add(plan, parameters, "homingSpeedFast", homing.Fast * axis.CountsPerUnit);
            Add(plan, parameters, "homingSpeedSlow", homing.Slow * axis.CountsPerUnit);
            Add(plan, parameters, "homingAcceleration", axis.Limits.Acceleration * axis.CountsPerUnit);
            Add(plan, parameters, "homeOffset", sign * homing.Offset * axis.CountsPerUnit);
        }

        _parameters = [.. parameters.Where(parameter => parameter.CanBeRead || parameter.HasWanted)];
        Restart();
    }

    private enum Phase : byte
    {
        Compare = 0,
        Write = 1,
        Verify = 2,
    }

    /// <summary>The drive's serial number; null when its definition has none.</summary>
    public Parameter? SerialNumber { get; }

    /// <summary>Time since the drive's start; null when its definition has none.</summary>
    public Parameter? Uptime { get; }

    /// <summary>1 while the drive knows its zero; null when its definition has none.</summary>
    public Parameter? Homed { get; }

    /// <summary>Begins anew.</summary>
    public void Restart() => Turn(0);

    /// <summary>Where a parameter begins: one that can't be read is written without a look.</summary>
    private void Turn(int parameter)
    {
        _at = parameter;
        _frame = 0;
        _phase = !IsComplete && !_parameters[_at].CanBeRead ? Phase.Write : Phase.Compare;
    }

    /// <summary>True when nothing is left to ask.</summary>
    public bool IsComplete => _at == _parameters.Length;

    /// <summary>Fills in the next request.</summary>
    public void Ask(Transaction transaction, byte unit)
    {
        if (_phase == Phase.Write)
        {
            _parameters[_at].Write(transaction, unit, _frame);
        }
        else
        {
            _parameters[_at].Read(transaction, unit);
        }
    }

    /// <summary>Takes the reply to the last request.</summary>
    public ContactResult Take(Transaction transaction)
    {
        var parameter = _parameters[_at];
        if (_phase == Phase.Write)
        {
            _frame++;
            if (_frame < parameter.WriteFrames)
            {
                return ContactResult.UnderWay;
            }

            _phase = Phase.Verify;
            return parameter.CanBeRead ? ContactResult.UnderWay : Pass();
        }

        parameter.TakeReply(transaction);
        if (parameter.HasWanted && !parameter.IsAsWanted)
        {
            if (_phase == Phase.Verify)
            {
                return ContactResult.Rejected;
            }

            _phase = Phase.Write;
            _frame = 0;
            return ContactResult.UnderWay;
        }

        return Pass();
    }

    private ContactResult Pass()
    {
        Turn(_at + 1);
        return IsComplete ? ContactResult.Complete : ContactResult.UnderWay;
    }

    /// <summary>Name of the parameter that is asked for.</summary>
    public string Asking => IsComplete ? "" : _parameters[_at].Field.Name;

    private static Parameter? Add(ExchangePlan plan, List<Parameter> parameters, string name, double? wanted)
    {
        if (plan.Drive.Parameter(name) is not { } field)
        {
            return null;
        }

        var parameter = new Parameter(plan, field, wanted);
        parameters.Add(parameter);
        return parameter;
    }
}
