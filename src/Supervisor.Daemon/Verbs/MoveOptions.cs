using System.CommandLine;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs;

/// <summary>The options of <c>move</c> and the request they make.</summary>
internal sealed class MoveOptions
{
    private static readonly (string Word, MoveDirection Direction)[] Directions =
        [("shortest", MoveDirection.Shortest), ("positive", MoveDirection.Positive), ("negative", MoveDirection.Negative)];

    private readonly Option<bool> _by = new("--by") { Description = "The numbers are distances from the last target." };
    private readonly Option<bool> _fromHere = new("--from-here") { Description = "The numbers are distances from where each axis is." };
    private readonly Option<bool> _endless = new("--endless") { Description = "The numbers are velocities in unit/s with their sign: endless axes run until Ctrl-C, a halt or another move." };
    private readonly Option<string?> _direction = new("--direction") { Description = "Way to a position of an endless axis; otherwise the shortest.", HelpName = "shortest|positive|negative" };
    private readonly Option<double?> _velocity = Numbers.Option("--velocity", "V", "Velocity in unit/s; otherwise each axis's limit.", required: false);
    private readonly Option<double?> _acceleration = Numbers.Option("--acceleration", "A", "Acceleration in unit/s²; otherwise each axis's limit.", required: false);
    private readonly Option<double?> _deceleration = Numbers.Option("--deceleration", "A", "Deceleration in unit/s²; otherwise each axis's limit, with which a halt always brakes.", required: false);
    private readonly Option<double?> _approach = Numbers.Option("--approach", "V", "Approach speed in unit/s over --approach-end and --approach-start.", required: false);
    private readonly Option<double?> _approachEnd = Numbers.Option("--approach-end", "D", "Length of the slow part before the target, in the axis's unit.", required: false);
    private readonly Option<double?> _approachStart = Numbers.Option("--approach-start", "D", "Length of the slow part at the start, in the axis's unit.", required: false);
    private readonly Option<bool> _after = new("--after") { Description = "Begin when the running move has arrived; without it the move takes its place at once." };

    /// <param name="verb">Gets the options.</param>
    /// <param name="noWait">Its option to return on acceptance.</param>
    public void AddTo(Command verb, Option<bool> noWait)
    {
        _direction.AcceptOnlyFromAmong([.. Directions.Select(known => known.Word)]);
        foreach (var option in new Option[] { _by, _fromHere, _endless, _direction, _velocity, _acceleration, _deceleration, _approach, _approachEnd, _approachStart, _after })
        {
            verb.Add(option);
        }

        verb.Check(result =>
        {
            if (new[] { _by, _fromHere, _endless }.Count(option => result.GetValue(option)) > 1)
            {
                result.AddError("--by, --from-here and --endless exclude each other: the numbers mean one thing");
            }

            if (result.GetValue(_endless) && result.GetValue(noWait))
            {
                result.AddError("--endless excludes --no-wait: a run without end needs somebody in charge, and is halted as soon as there is nobody");
            }

            var hasLength = result.GetValue(_approachEnd) is not null || result.GetValue(_approachStart) is not null;
            if (result.GetValue(_approach) is not null != hasLength)
            {
                result.AddError("--approach goes with --approach-end, --approach-start or both: a speed and the length it is for");
            }
        });
    }

    /// <summary>The request, without its token.</summary>
    public MoveRequest Read(ParseResult parsed, IEnumerable<MoveTarget> targets)
    {
        var request = new MoveRequest { AfterCurrent = parsed.GetValue(_after) };
        request.Targets.AddRange(targets.Select(target => Meant(parsed, target)));
        if (parsed.GetValue(_velocity) is { } velocity)
        {
            request.Velocity = velocity;
        }

        if (parsed.GetValue(_acceleration) is { } acceleration)
        {
            request.Acceleration = acceleration;
        }

        if (parsed.GetValue(_deceleration) is { } deceleration)
        {
            request.Deceleration = deceleration;
        }

        if (parsed.GetValue(_approach) is { } approach)
        {
            request.Approach = new ApproachSpeed
            {
                Velocity = approach,
                EndDistance = parsed.GetValue(_approachEnd) ?? 0,
                StartDistance = parsed.GetValue(_approachStart) ?? 0,
            };
        }

        return request;
    }

    /// <summary>What the number of a pair means.</summary>
    private MoveTarget Meant(ParseResult parsed, MoveTarget read)
    {
        var target = new MoveTarget { Axis = read.Axis, Direction = Directions.FirstOrDefault(known => known.Word == parsed.GetValue(_direction)).Direction };
        if (parsed.GetValue(_by))
        {
            target.Distance = read.Position;
        }
        else if (parsed.GetValue(_fromHere))
        {
            target.DistanceFromActual = read.Position;
        }
        else if (parsed.GetValue(_endless))
        {
            target.EndlessVelocity = read.Position;
        }
        else
        {
            target.Position = read.Position;
        }

        return target;
    }
}
