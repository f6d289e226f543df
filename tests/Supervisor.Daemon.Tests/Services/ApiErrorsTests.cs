using System.Text.RegularExpressions;
using Google.Rpc;
using Grpc.Core;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Services;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Tests.Services;

public sealed partial class ApiErrorsTests
{
    private static readonly Refusal[] Refusals = [.. Enum.GetValues<Refusal>().Where(refusal => refusal != Refusal.None)];
    private static readonly FaultCode[] Faults = [.. Enum.GetValues<FaultCode>().Where(fault => fault != FaultCode.None)];

    [Theory]
    [InlineData(Refusal.UnknownAxis, StatusCode.NotFound)]
    [InlineData(Refusal.NoAuthority, StatusCode.PermissionDenied)]
    [InlineData(Refusal.AuthorityHeldByAnother, StatusCode.PermissionDenied)]
    [InlineData(Refusal.MailboxFull, StatusCode.ResourceExhausted)]
    [InlineData(Refusal.ShuttingDown, StatusCode.Unavailable)]
    [InlineData(Refusal.InterlockOpen, StatusCode.FailedPrecondition)]
    [InlineData(Refusal.InterlockNeedsReset, StatusCode.FailedPrecondition)]
    [InlineData(Refusal.InterlockResetElsewhere, StatusCode.FailedPrecondition)]
    [InlineData(Refusal.NotEnabled, StatusCode.FailedPrecondition)]
    [InlineData(Refusal.NotReferenced, StatusCode.FailedPrecondition)]
    [InlineData(Refusal.AxisFaulted, StatusCode.FailedPrecondition)]
    [InlineData(Refusal.AxisOffline, StatusCode.FailedPrecondition)]
    [InlineData(Refusal.PositionLimit, StatusCode.OutOfRange)]
    [InlineData(Refusal.VelocityLimit, StatusCode.OutOfRange)]
    [InlineData(Refusal.TorqueLimit, StatusCode.OutOfRange)]
    [InlineData(Refusal.InvalidArgument, StatusCode.InvalidArgument)]
    [InlineData(Refusal.NotSupportedByDrive, StatusCode.FailedPrecondition)]
    [InlineData(Refusal.Stopped, StatusCode.Aborted)]
    [InlineData(Refusal.AuthorityLost, StatusCode.Aborted)]
    public void CodeOf_Refusal_IsAsTheTableSays(Refusal refusal, StatusCode expected) => Assert.Equal(expected, ApiErrors.CodeOf(refusal));

    [Fact]
    public void CodeOf_EveryRefusalButShuttingDown_IsNothingThatClientsRepeatByThemselves()
    {
        // Clients' own retry policies commonly name UNAVAILABLE (common practice): a command must not be given twice by one.
        foreach (var refusal in Refusals.Where(refusal => refusal != Refusal.ShuttingDown))
        {
            Assert.NotEqual(StatusCode.Unavailable, ApiErrors.CodeOf(refusal));
            Assert.NotEqual(StatusCode.OK, ApiErrors.CodeOf(refusal));
        }
    }

    [Theory]
    [InlineData(FaultCode.LinkLost, StatusCode.FailedPrecondition)]
    [InlineData(FaultCode.FollowingError, StatusCode.FailedPrecondition)]
    [InlineData(FaultCode.PortThreadEnded, StatusCode.Internal)]
    public void CodeOf_Fault_IsAsTheTableSays(FaultCode fault, StatusCode expected) => Assert.Equal(expected, ApiErrors.CodeOf(fault));

    [Fact]
    public void ReasonOf_Everything_HasTheFormOfErrorInfoAndIsUnique()
    {
        string[] reasons =
        [
            .. Refusals.Select(ApiErrors.ReasonOf), .. Faults.Select(ApiErrors.ReasonOf),
            ApiErrors.ReasonOf((Refusal)999), ApiErrors.ReasonOf((FaultCode)999),
        ];

        // Form of ErrorInfo.reason: AIP-193, read in the primary text.
        Assert.All(reasons, reason => Assert.Matches(ReasonForm(), reason));
        Assert.All(reasons, reason => Assert.InRange(reason.Length, 1, 63));
        Assert.Equal(reasons.Length, reasons.Distinct().Count());
    }

    [Theory]
    [InlineData(Refusal.PositionLimit, "POSITION_LIMIT")]
    [InlineData(Refusal.AuthorityHeldByAnother, "AUTHORITY_HELD_BY_ANOTHER")]
    [InlineData(Refusal.None, "")]
    public void ReasonOf_Refusal_IsUpperSnake(Refusal refusal, string expected) => Assert.Equal(expected, ApiErrors.ReasonOf(refusal));

    [Fact]
    public void From_RefusedCommand_HasExactlyOneErrorInfoThatNamesAxisAndCommand()
    {
        var answer = new CommandAnswer(7, Outcome.Refused, Refusal.PositionLimit, FaultCode.None, 1, "b: too far", null);

        var error = ApiErrors.From(answer, TwoAxes());

        Assert.Equal(StatusCode.OutOfRange, error.StatusCode);
        Assert.Equal("b: too far", error.Status.Detail);
        var status = error.GetRpcStatus()!;
        var info = Assert.Single(status.Details).Unpack<ErrorInfo>();
        Assert.Equal("supervisor.v1", info.Domain);
        Assert.Equal("POSITION_LIMIT", info.Reason);
        Assert.Equal("b", info.Metadata["axis"]);
        Assert.Equal("7", info.Metadata["command_id"]);
    }

    [Fact]
    public void From_CommandThatFailedBeforeAcceptance_HasTheFaultAsReason()
    {
        var answer = new CommandAnswer(7, Outcome.Failed, Refusal.None, FaultCode.LinkLost, 0, "a: gone", null);

        var info = ApiErrors.From(answer, TwoAxes()).GetRpcStatus()!.GetDetail<ErrorInfo>()!;

        Assert.Equal("LINK_LOST", info.Reason);
    }

    /// <summary>Clients take 8 KiB of trailers by default (gRPC core, GRPC_ARG_MAX_METADATA_SIZE): beyond that they tell RESOURCE_EXHAUSTED instead.</summary>
    [Fact]
    public void Refuse_WhatNamesAVeryLongText_FitsIntoTheTrailersThatClientsTake()
    {
        var error = ApiErrors.Refuse(Refusal.InvalidArgument, $"there is no fault '{new string('k', 100_000)}'", "filter.fault");

        Assert.Equal("INVALID_ARGUMENT", error.GetRpcStatus()!.GetDetail<ErrorInfo>()!.Reason);
        Assert.StartsWith("there is no fault 'kkk", error.Status.Detail, StringComparison.Ordinal);
        Assert.InRange(error.Status.Detail.Length + error.Trailers.Sum(entry => entry.Key.Length + (entry.IsBinary ? entry.ValueBytes.Length * 4 / 3 : entry.Value.Length)), 1, 8000);
    }

    private static MachineDefinition TwoAxes() => SmallMachine.With("a", "b");

    [GeneratedRegex("^[A-Z][A-Z0-9_]+[A-Z0-9]$")]
    private static partial Regex ReasonForm();
}
