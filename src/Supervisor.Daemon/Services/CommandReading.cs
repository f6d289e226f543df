using Supervisor.Api.V1;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Modes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;
using MoveTarget = Supervisor.Machine.Api.MoveTarget;

namespace Supervisor.Daemon.Services;

/// <summary>Reads requests as commands: names become indices, what is no command is refused with the member named.</summary>
internal static class CommandReading
{
    /// <summary>The axes named; all of the machine when none is.</summary>
    public static IReadOnlyList<int> AxesOrAll(MachineDefinition machine, IReadOnlyList<string> names) =>
        names.Count == 0 ? [.. Enumerable.Range(0, machine.Axes.Count)] : Axes(machine, names);

    /// <summary>The axes named, each once.</summary>
    public static IReadOnlyList<int> Axes(MachineDefinition machine, IReadOnlyList<string> names) =>
        [.. names.Select((name, i) => Axis(machine, name, $"axes[{i}]")).Distinct()];

    /// <summary>The axes named; without names all whose brake has a proof.</summary>
    public static IReadOnlyList<int> AxesWithProof(MachineDefinition machine, IReadOnlyList<string> names)
    {
        IReadOnlyList<int> axes = names.Count > 0
            ? Axes(machine, names)
            : [.. Enumerable.Range(0, machine.Axes.Count).Where(axis => machine.Axes[axis].Brake?.Proof is not null)];
        return axes.Count > 0 ? axes : throw ApiErrors.Refuse(Refusal.NoBrakeProof, "no brake of this machine has a \"proof\" in the machine file: there is nothing to prove", "axes");
    }

    public static int Axis(MachineDefinition machine, string name, string field)
    {
        var axis = machine.AxisIndex(name);
        return axis >= 0 ? axis : throw ApiErrors.Refuse(Refusal.UnknownAxis, machine.DescribeUnknownAxis(name), field);
    }

    public static MachineMode Mode(Mode mode) => mode switch
    {
        Api.V1.Mode.Production => MachineMode.Production,
        Api.V1.Mode.Maintenance => MachineMode.Maintenance,
        Api.V1.Mode.Manual => MachineMode.Manual,
        _ => throw ApiErrors.Refuse(Refusal.InvalidArgument, "mode must be production, maintenance or manual", "mode"),
    };

    public static MoveCommand Move(MachineDefinition machine, MoveRequest request)
    {
        if (request.Targets.Count == 0)
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, "a move needs at least one target", "targets");
        }

        MoveTarget[] targets = [.. request.Targets.Select((target, i) => Target(machine, target, $"targets[{i}]"))];
        var twice = targets.GroupBy(target => target.Axis).FirstOrDefault(group => group.Count() > 1);
        if (twice is not null)
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, $"a move can name {machine.Axes[twice.Key].Name} only once", "targets");
        }

        return new MoveCommand(targets, request.HasVelocity ? Finite(request.Velocity, "velocity") : null)
        {
            Acceleration = request.HasAcceleration ? Finite(request.Acceleration, "acceleration") : null,
            Deceleration = request.HasDeceleration ? Finite(request.Deceleration, "deceleration") : null,
            Approach = request.Approach is { } approach
                ? new Machine.Api.ApproachSpeed(
                    Finite(approach.Velocity, "approach.velocity"), Finite(approach.EndDistance, "approach.end_distance"),
                    Finite(approach.StartDistance, "approach.start_distance"))
                : null,
            AfterCurrent = request.AfterCurrent,
        };
    }

    public static ContactCommand Contact(MachineDefinition machine, ContactRequest request) => new(
        Axis(machine, request.Axis, "axis"), Finite(request.Toward, "toward"), Finite(request.Torque, "torque"), Finite(request.Velocity, "velocity"));

    /// <summary>A name that goes into sentences: one line of printable characters. A stop is never refused for its name, so a bad one is cut.</summary>
    public static string Name(string name)
    {
        const int longest = 80;
        var clean = new string([.. name.Select(letter => char.IsControl(letter) ? ' ' : letter)]).Trim();
        return clean.Length > longest ? clean[..longest] : clean;
    }

    /// <summary>Who asks, where somebody must say so.</summary>
    public static string Who(string name)
    {
        const int longest = 80;
        return Plain(name) is { Length: > 0 and <= longest } who
            ? who
            : throw ApiErrors.Refuse(Refusal.InvalidArgument, $"requested_by must be a name of 1 to {longest} characters: it is shown to others and recorded", "requested_by");
    }

    /// <summary>A text of one line.</summary>
    public static string Plain(string text) => new string([.. text.Select(letter => char.IsControl(letter) ? ' ' : letter)]).Trim();

    public static JogCommand Jog(MachineDefinition machine, JogRequest request)
    {
        if (request.PressId == 0)
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, "a press needs an id above 0", "press_id");
        }

        if (request.Direction is not (JogDirection.Positive or JogDirection.Negative))
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, "a jog needs a direction: positive or negative", "direction");
        }

        return new JogCommand(
            Axis(machine, request.Axis, "axis"), request.Direction == JogDirection.Positive, request.HasVelocity ? Finite(request.Velocity, "velocity") : null);
    }

    private static MoveTarget Target(MachineDefinition machine, Api.V1.MoveTarget target, string field)
    {
        var axis = Axis(machine, target.Axis, $"{field}.axis");
        var read = target.TargetCase switch
        {
            Api.V1.MoveTarget.TargetOneofCase.Position => new MoveTarget(axis, Finite(target.Position, $"{field}.position"), Relative: false),
            Api.V1.MoveTarget.TargetOneofCase.Distance => new MoveTarget(axis, Finite(target.Distance, $"{field}.distance"), Relative: true),
            Api.V1.MoveTarget.TargetOneofCase.DistanceFromActual =>
                new MoveTarget(axis, Finite(target.DistanceFromActual, $"{field}.distance_from_actual"), Relative: false) { FromActual = true },
            Api.V1.MoveTarget.TargetOneofCase.EndlessVelocity =>
                new MoveTarget(axis, Finite(target.EndlessVelocity, $"{field}.endless_velocity"), Relative: false) { WithoutEnd = true },
            _ => throw ApiErrors.Refuse(Refusal.InvalidArgument, $"say where {target.Axis} is to go: a position or a distance", field),
        };
        return read with
        {
            Way = target.Direction switch
            {
                MoveDirection.Unspecified or MoveDirection.Shortest => WayRound.Shortest,
                MoveDirection.Positive => WayRound.Positive,
                MoveDirection.Negative => WayRound.Negative,
                _ => throw ApiErrors.Refuse(Refusal.InvalidArgument, "a direction is shortest, positive or negative", $"{field}.direction"),
            },
        };
    }

    /// <summary>A number that is one: comparisons with NaN are all false, so no limit would stop it.</summary>
    private static double Finite(double value, string field) =>
        double.IsFinite(value) ? value : throw ApiErrors.Refuse(Refusal.InvalidArgument, $"{field} must be a finite number", field);
}
